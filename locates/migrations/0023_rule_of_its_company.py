"""A job stands under a shipped rule or one of its own company; whose a rule is never changes."""

from django.db import migrations

GUARD = r"""
CREATE FUNCTION locates_job_rule_of_its_company() RETURNS trigger LANGUAGE plpgsql AS $function$
BEGIN
    IF EXISTS (
        SELECT 1 FROM public.locates_jurisdictionrule r
        WHERE r.id = NEW.jurisdiction_id AND r.organisation_id <> NEW.organisation_id)
    THEN
        RAISE EXCEPTION 'jurisdiction: accepted is a shipped rule or one of the job''s own company'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'job_rule_is_shipped_or_own',
            TABLE = TG_TABLE_NAME, SCHEMA = TG_TABLE_SCHEMA;
    END IF;
    RETURN NEW;
END
$function$;
CREATE TRIGGER rule_of_its_company_insert BEFORE INSERT ON locates_job FOR EACH ROW
    EXECUTE FUNCTION locates_job_rule_of_its_company();
CREATE TRIGGER rule_of_its_company_update BEFORE UPDATE ON locates_job FOR EACH ROW
    WHEN ((OLD.jurisdiction_id, OLD.organisation_id) IS DISTINCT FROM (NEW.jurisdiction_id, NEW.organisation_id))
    EXECUTE FUNCTION locates_job_rule_of_its_company();
-- So nobody has to look again at the jobs that stand under it.
CREATE TRIGGER company_stays BEFORE UPDATE ON locates_jurisdictionrule FOR EACH ROW
    WHEN (OLD.organisation_id IS DISTINCT FROM NEW.organisation_id)
    EXECUTE FUNCTION locates_refuse_rewriting('whose a rule is stays as it is: jobs stand under it');
SELECT locates_harden('locates_job');
SELECT locates_harden('locates_jurisdictionrule');
"""

LET_GO = """
DROP TRIGGER company_stays ON locates_jurisdictionrule;
DROP TRIGGER rule_of_its_company_update ON locates_job;
DROP TRIGGER rule_of_its_company_insert ON locates_job;
DROP FUNCTION locates_job_rule_of_its_company();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('locates', '0022_company_rules'),
    ]

    operations = [migrations.RunSQL(GUARD, LET_GO)]
