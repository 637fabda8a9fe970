"""Guards that no setting of a session passes by, and that nobody but the owner of the tables can forge.

A trigger as PostgreSQL makes it is silent where `session_replication_role` says replica; one that is always
enabled is not. The events are written with the rights of the tables' owner, so nobody else needs any right to
write them, and a trigger of somebody's own temporary table does not pass for a kept one's.
"""

from django.db import migrations

HARDEN = r"""
CREATE FUNCTION locates_harden(of_table regclass) RETURNS void LANGUAGE plpgsql AS $function$
DECLARE
    one record;
BEGIN
    FOR one IN
        SELECT t.tgname, p.proname, p.oid::regprocedure AS function
        FROM pg_catalog.pg_trigger t JOIN pg_catalog.pg_proc p ON p.oid = t.tgfoid
        WHERE t.tgrelid = of_table AND NOT t.tgisinternal
    LOOP
        EXECUTE format('ALTER TABLE %s ENABLE ALWAYS TRIGGER %I', of_table, one.tgname);
        IF starts_with(one.proname, 'keep_record_of_') THEN
            EXECUTE format(
                'ALTER FUNCTION %s SECURITY DEFINER SET search_path = pg_catalog, pg_temp', one.function);
        END IF;
    END LOOP;
END
$function$;

-- Each way to a guard ends with its hardening, also where a later migration has a table kept again.
ALTER FUNCTION locates_seal(regclass) RENAME TO locates_make_seal;
CREATE FUNCTION locates_seal(of_table regclass) RETURNS void LANGUAGE plpgsql AS $function$
BEGIN
    PERFORM public.locates_make_seal(of_table);
    PERFORM public.locates_harden(of_table);
END
$function$;

ALTER FUNCTION locates_keep_record_of(regclass, text, text[]) RENAME TO locates_make_keepers;
CREATE FUNCTION locates_keep_record_of(of_table regclass, job text, unkept text[] DEFAULT '{}') RETURNS void
LANGUAGE plpgsql AS $function$
BEGIN
    PERFORM public.locates_make_keepers(of_table, job, unkept);
    PERFORM public.locates_harden(of_table);
    PERFORM public.locates_harden('public.locates_recordevent');
END
$function$;

CREATE OR REPLACE FUNCTION locates_refuse_forging() RETURNS trigger LANGUAGE plpgsql AS $function$
BEGIN
    -- 1 is this trigger; whoever is written by the trigger of a kept table stands one deeper, and there with
    -- the rights of the owner.
    IF pg_catalog.pg_trigger_depth() < 2 OR NOT pg_catalog.pg_has_role(
        current_user, (SELECT c.relowner FROM pg_catalog.pg_class c WHERE c.oid = TG_RELID), 'USAGE')
    THEN
        RAISE EXCEPTION 'INSERT is refused on %: an event is written by the change itself, by nobody else',
            TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
    END IF;
    RETURN NULL;
END
$function$;
"""

SOFTEN = r"""
CREATE OR REPLACE FUNCTION locates_refuse_forging() RETURNS trigger LANGUAGE plpgsql AS $function$
BEGIN
    -- 1 is this trigger; whoever is written by the trigger of a kept table stands one deeper.
    IF pg_catalog.pg_trigger_depth() < 2 THEN
        RAISE EXCEPTION 'INSERT is refused on %: an event is written by the change itself, by nobody else',
            TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
    END IF;
    RETURN NULL;
END
$function$;
DROP FUNCTION locates_keep_record_of(regclass, text, text[]);
ALTER FUNCTION locates_make_keepers(regclass, text, text[]) RENAME TO locates_keep_record_of;
DROP FUNCTION locates_seal(regclass);
ALTER FUNCTION locates_make_seal(regclass) RENAME TO locates_seal;
DROP FUNCTION locates_harden(regclass);
"""

EACH_GUARDED = r"""
DO $$
DECLARE
    one record;
BEGIN
    FOR one IN
        SELECT t.tgrelid::regclass AS held, t.tgname, p.proname, p.oid::regprocedure AS function
        FROM pg_catalog.pg_trigger t JOIN pg_catalog.pg_proc p ON p.oid = t.tgfoid
        WHERE NOT t.tgisinternal AND t.tgrelid::regclass::text ~ '^(locates|conflicts)_'
    LOOP
        {each}
    END LOOP;
END
$$;
"""

HARDEN_ALL = EACH_GUARDED.replace("{each}", "PERFORM locates_harden(one.held);")
SOFTEN_ALL = EACH_GUARDED.replace(
    "{each}",
    """EXECUTE format('ALTER TABLE %s ENABLE TRIGGER %I', one.held, one.tgname);
        IF starts_with(one.proname, 'keep_record_of_') THEN
            EXECUTE format('ALTER FUNCTION %s SECURITY INVOKER RESET search_path', one.function);
        END IF;""",
)

TOLD_STAYS = r"""
CREATE TRIGGER told_stays BEFORE UPDATE ON locates_notice FOR EACH ROW
    WHEN (OLD.words <> '' AND to_jsonb(NEW) - 'read_at' IS DISTINCT FROM to_jsonb(OLD) - 'read_at')
    EXECUTE FUNCTION locates_refuse_rewriting('what somebody was told is never written over');
-- Person and notice may go, and take their ids out of it.
CREATE TRIGGER told_stays BEFORE UPDATE ON locates_outgoingmail FOR EACH ROW
    WHEN (OLD.state = 'sent' AND to_jsonb(NEW) - '{person_id,notice_id}'::text[]
        IS DISTINCT FROM to_jsonb(OLD) - '{person_id,notice_id}'::text[])
    EXECUTE FUNCTION locates_refuse_rewriting('what was sent to somebody is never written over');
CREATE TRIGGER refuse_emptying BEFORE TRUNCATE ON locates_notice FOR EACH STATEMENT
    EXECUTE FUNCTION locates_refuse_rewriting('it is the record of who was told what');
CREATE TRIGGER refuse_emptying BEFORE TRUNCATE ON locates_outgoingmail FOR EACH STATEMENT
    EXECUTE FUNCTION locates_refuse_rewriting('it is the record of who was told what');
"""

TOLD_GOES = r"""
DROP TRIGGER refuse_emptying ON locates_outgoingmail;
DROP TRIGGER refuse_emptying ON locates_notice;
DROP TRIGGER told_stays ON locates_outgoingmail;
DROP TRIGGER told_stays ON locates_notice;
"""


class Migration(migrations.Migration):
    dependencies = (("locates", "0020_history"),)

    operations = (
        migrations.RunSQL([(HARDEN, None)], SOFTEN),
        migrations.RunSQL([(TOLD_STAYS, None)], TOLD_GOES),
        migrations.RunSQL([(HARDEN_ALL, None)], [(SOFTEN_ALL, None)]),
    )
