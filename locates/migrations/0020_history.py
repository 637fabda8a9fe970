"""The record of every change: its table, and the triggers that write it.

Plain SQL, so that no write passes it by: the models, the admin, a console of the database. A trigger a statement
reads all rows of the statement at once, which costs a bulk import little.
"""

from django.db import migrations, models
from django.db.models import Q

from locates import roles

FUNCTIONS = r"""
-- Keeping the record of a table: `SELECT locates_keep_record_of('locates_mark', '{row}.job_id')`. A migration that
-- adds or takes away a column of a kept table calls it again, and the rows' new shape becomes an event.

CREATE FUNCTION locates_exact_columns(of_table regclass, alias text) RETURNS text
LANGUAGE sql STABLE AS $function$
    -- A row as JSON loses nothing: shapes as EWKB, floats with the sign of their zero; a file is told by its
    -- length and digest, for it lies in the row itself and is never altered.
    SELECT string_agg(
        CASE
            WHEN kind.typname = 'geometry' THEN format('%1$s.%2$I::text AS %2$I', alias, a.attname)
            WHEN kind.typname = 'bytea' THEN format(
                'CASE WHEN %1$s.%2$I IS NOT NULL THEN pg_catalog.jsonb_build_object('
                '''bytes'', pg_catalog.octet_length(%1$s.%2$I),'
                ' ''sha256'', pg_catalog.encode(pg_catalog.sha256(%1$s.%2$I), ''hex'')) END AS %2$I',
                alias, a.attname)
            WHEN kind.typname = 'float8' THEN format(
                'CASE WHEN %1$s.%2$I::text = ''-0'' THEN ''"-0"''::jsonb'
                ' ELSE pg_catalog.to_jsonb(%1$s.%2$I) END AS %2$I', alias, a.attname)
            WHEN kind.typname = '_float8' THEN format(
                'CASE WHEN ''-0'' = ANY(%1$s.%2$I::text[]) THEN pg_catalog.to_jsonb(%1$s.%2$I::text)'
                ' ELSE pg_catalog.to_jsonb(%1$s.%2$I) END AS %2$I', alias, a.attname)
            ELSE format('%1$s.%2$I', alias, a.attname)
        END, ', ' ORDER BY a.attnum)
    FROM pg_catalog.pg_attribute a JOIN pg_catalog.pg_type kind ON kind.oid = a.atttypid
    WHERE a.attrelid = of_table AND a.attnum > 0 AND NOT a.attisdropped
$function$;

CREATE FUNCTION locates_exact_row(of_table regclass, alias text) RETURNS text
LANGUAGE sql STABLE AS $function$
    SELECT format('(SELECT pg_catalog.to_jsonb(exact) FROM (SELECT %s) AS exact)',
                  locates_exact_columns(of_table, alias))
$function$;

CREATE FUNCTION locates_refuse_rewriting() RETURNS trigger LANGUAGE plpgsql AS $function$
BEGIN
    RAISE EXCEPTION '% is refused on %: %', TG_OP, TG_TABLE_NAME, TG_ARGV[0]
        USING ERRCODE = 'restrict_violation';
END
$function$;

CREATE FUNCTION locates_refuse_forging() RETURNS trigger LANGUAGE plpgsql AS $function$
BEGIN
    -- 1 is this trigger; whoever is written by the trigger of a kept table stands one deeper.
    IF pg_catalog.pg_trigger_depth() < 2 THEN
        RAISE EXCEPTION 'INSERT is refused on %: an event is written by the change itself, by nobody else',
            TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
    END IF;
    RETURN NULL;
END
$function$;

CREATE TRIGGER refuse_forging BEFORE INSERT ON locates_recordevent
    FOR EACH STATEMENT EXECUTE FUNCTION locates_refuse_forging();

CREATE FUNCTION locates_seal(of_table regclass) RETURNS void LANGUAGE plpgsql AS $function$
BEGIN
    EXECUTE format(
        'CREATE OR REPLACE TRIGGER refuse_rewriting BEFORE UPDATE OR DELETE OR TRUNCATE ON %s'
        ' FOR EACH STATEMENT EXECUTE FUNCTION public.locates_refuse_rewriting(%L)',
        of_table, 'what was kept or signed stays as it is; a correction is a new record');
END
$function$;

CREATE FUNCTION locates_keep_record_of(of_table regclass, job text, unkept text[] DEFAULT '{}') RETURNS void
LANGUAGE plpgsql AS $function$
DECLARE
    name text := (SELECT relname FROM pg_catalog.pg_class WHERE oid = of_table);
    keeper text := 'public.' || quote_ident('keep_record_of_' || name);
    columns text := '(happened_at, transaction_id, transaction_began_at, table_name, record_id, job_id, action,'
        ' before, after, person_id, person_name, source, database_role)';
    circumstances text := 'pg_catalog.clock_timestamp(), pg_catalog.txid_current(),'
        ' pg_catalog.transaction_timestamp()';
    who text := 'nullif(pg_catalog.current_setting(''crosswatch.person'', true), '''')::bigint,'
        ' coalesce(pg_catalog.current_setting(''crosswatch.person_name'', true), ''''),'
        ' coalesce(pg_catalog.current_setting(''crosswatch.source'', true), ''''), session_user';
    -- Of a record whose parent went first, its last event knows the job.
    job_before text := format(
        'coalesce(%s, (SELECT e.job_id FROM public.locates_recordevent e WHERE e.record_id = o.id'
        ' ORDER BY e.id DESC LIMIT 1))', replace(job, '{row}', 'o'));
    job_after text := replace(job, '{row}', 'n');
BEGIN
    EXECUTE format($make$
        CREATE OR REPLACE FUNCTION %1$s() RETURNS trigger LANGUAGE plpgsql
        SET extra_float_digits = 1 SET timezone = 'UTC' AS $keeper$
        BEGIN
            IF TG_OP = 'INSERT' THEN
                INSERT INTO public.locates_recordevent %2$s
                SELECT %3$s, %4$L, n.id, %5$s, 'insert', NULL, %6$s, %7$s FROM new_rows n;
            ELSIF TG_OP = 'DELETE' THEN
                INSERT INTO public.locates_recordevent %2$s
                SELECT %3$s, %4$L, o.id, %8$s, 'delete', %9$s, NULL, %7$s FROM old_rows o;
            ELSE
                INSERT INTO public.locates_recordevent %2$s
                SELECT %3$s, %4$L, both_rows.id, both_rows.job_id,
                    CASE WHEN was IS NULL THEN 'insert' WHEN become IS NULL THEN 'delete' ELSE 'update' END,
                    was, become, %7$s
                FROM (
                    SELECT coalesce(n.id, o.id) AS id,
                        CASE WHEN n.id IS NULL THEN %8$s ELSE %5$s END AS job_id,
                        CASE WHEN o.id IS NOT NULL THEN %9$s END AS was,
                        CASE WHEN n.id IS NOT NULL THEN %6$s END AS become
                    FROM old_rows o FULL JOIN new_rows n ON n.id = o.id
                ) AS both_rows
                WHERE was - %10$L::text[] IS DISTINCT FROM become - %10$L::text[];
            END IF;
            RETURN NULL;
        END
        $keeper$
        $make$,
        keeper, columns, circumstances, name, job_after, locates_exact_row(of_table, 'n'), who,
        job_before, locates_exact_row(of_table, 'o'), unkept);
    EXECUTE format(
        'CREATE OR REPLACE TRIGGER keep_insert AFTER INSERT ON %1$s REFERENCING NEW TABLE AS new_rows'
        ' FOR EACH STATEMENT EXECUTE FUNCTION %2$s()', of_table, keeper);
    EXECUTE format(
        'CREATE OR REPLACE TRIGGER keep_update AFTER UPDATE ON %1$s'
        ' REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows'
        ' FOR EACH STATEMENT EXECUTE FUNCTION %2$s()', of_table, keeper);
    EXECUTE format(
        'CREATE OR REPLACE TRIGGER keep_delete AFTER DELETE ON %1$s REFERENCING OLD TABLE AS old_rows'
        ' FOR EACH STATEMENT EXECUTE FUNCTION %2$s()', of_table, keeper);
    EXECUTE format(
        'CREATE OR REPLACE TRIGGER refuse_emptying BEFORE TRUNCATE ON %s'
        ' FOR EACH STATEMENT EXECUTE FUNCTION public.locates_refuse_rewriting(%L)',
        of_table, 'records are retired one by one, and each change of one is kept');
    -- Rows that were there before, or had other columns, begin with an event that says so. Only the owner of
    -- the tables can do this.
    ALTER TABLE public.locates_recordevent DISABLE TRIGGER refuse_forging;
    PERFORM set_config('extra_float_digits', '1', true), set_config('timezone', 'UTC', true);
    EXECUTE format(
        'INSERT INTO public.locates_recordevent %1$s SELECT %2$s, %3$L, n.id, %4$s,'
        ' CASE WHEN last.after IS NULL THEN ''insert'' ELSE ''update'' END, last.after, n.exact, NULL, '''','
        ' ''migration'', session_user'
        ' FROM (SELECT n.*, %5$s AS exact FROM %6$s n) AS n'
        ' LEFT JOIN LATERAL (SELECT e.after FROM public.locates_recordevent e WHERE e.record_id = n.id'
        ' AND e.table_name = %3$L ORDER BY e.id DESC LIMIT 1) AS last ON true'
        ' WHERE last.after IS DISTINCT FROM n.exact',
        columns, circumstances, name, job_after, locates_exact_row(of_table, 'n'), of_table);
    ALTER TABLE public.locates_recordevent ENABLE TRIGGER refuse_forging;
END
$function$;

CREATE FUNCTION locates_leave_record_of(of_table regclass) RETURNS void LANGUAGE plpgsql AS $function$
DECLARE
    one text;
BEGIN
    FOREACH one IN ARRAY ARRAY['keep_insert', 'keep_update', 'keep_delete', 'refuse_emptying', 'refuse_rewriting']
    LOOP
        EXECUTE format('DROP TRIGGER IF EXISTS %I ON %s', one, of_table);
    END LOOP;
    EXECUTE format('DROP FUNCTION IF EXISTS public.%I()', 'keep_record_of_' || (
        SELECT relname FROM pg_catalog.pg_class WHERE oid = of_table));
END
$function$;
"""

DROP_FUNCTIONS = """
DROP FUNCTION locates_keep_record_of(regclass, text, text[]);
DROP FUNCTION locates_leave_record_of(regclass);
DROP FUNCTION locates_seal(regclass);
DROP TRIGGER refuse_forging ON locates_recordevent;
DROP FUNCTION locates_refuse_forging();
DROP FUNCTION locates_refuse_rewriting();
DROP FUNCTION locates_exact_row(regclass, text);
DROP FUNCTION locates_exact_columns(regclass, text);
"""

OWN = "{row}.job_id"
OF_TICKET = "(SELECT t.job_id FROM public.locates_ticket t WHERE t.id = {row}.ticket_id)"
OF_RESPONSE = (
    "(SELECT t.job_id FROM public.locates_response r JOIN public.locates_ticket t ON t.id = r.ticket_id"
    " WHERE r.id = {row}.response_id)"
)
OF_NO_JOB = "NULL::uuid"

KEPT = {
    "locates_organisation": OF_NO_JOB,
    "locates_membership": OF_NO_JOB,
    "locates_jurisdictionrule": OF_NO_JOB,
    "locates_centreday": OF_NO_JOB,
    "locates_textreader": OF_NO_JOB,
    "locates_job": "{row}.id",
    "locates_facilityoperator": OWN,
    "locates_clearancerequirement": OWN,
    "locates_ticket": OWN,
    "locates_response": OF_TICKET,
    "locates_responsepaper": OF_RESPONSE,
    "locates_mark": OWN,
    "locates_testhole": OWN,
    "locates_surfacefeature": OWN,
    "locates_groundpoint": OWN,
    "locates_linework": OWN,
    "locates_retirement": OWN,
    "locates_photo": OWN,
}
"""Tables whose every change is kept, and how the job of a row is found."""

UNKEPT = {"locates_job": "{changed_at}"}
"""Columns that only note a change of something else: where nothing but they changes, there is no event."""

SEALED = ("locates_recordevent", "locates_ledgerentry", "locates_photo")
"""Tables of which nothing is ever changed or taken away."""


def keep(apps, schema_editor):
    """Have the database keep the record, from the rows that are there on."""
    with schema_editor.connection.cursor() as cursor:
        for table, job in KEPT.items():
            cursor.execute(
                "SELECT locates_keep_record_of(%s::regclass, %s, %s::text[])",
                [table, job, UNKEPT.get(table, "{}")],
            )
        for table in SEALED:
            cursor.execute("SELECT locates_seal(%s::regclass)", [table])


def leave(apps, schema_editor):
    """Take the triggers away again."""
    with schema_editor.connection.cursor() as cursor:
        for table in (*KEPT, *SEALED):
            cursor.execute("SELECT locates_leave_record_of(%s::regclass)", [table])


def grant(apps, schema_editor):
    """Let every role read the record; nobody writes it."""
    roles.grant(apps, schema_editor, "locates", {})


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_recordevent"):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [("locates", "0019_checks_never_waived")]

    operations = [
        migrations.CreateModel(
            name="RecordEvent",
            fields=[
                ("id", models.BigAutoField(primary_key=True, serialize=False)),
                ("happened_at", models.DateTimeField(help_text="By the database's clock, while it was written.")),
                ("transaction_id", models.BigIntegerField()),
                ("transaction_began_at", models.DateTimeField(help_text="Tells two transactions of one number apart.")),
                ("table_name", models.CharField(max_length=63)),
                ("record_id", models.UUIDField()),
                ("job_id", models.UUIDField(help_text="None where the record belongs to no one job.", null=True)),
                ("action", models.CharField(choices=[("insert", "added"), ("update", "changed"), ("delete", "deleted")], max_length=10)),
                ("before", models.JSONField(null=True)),
                ("after", models.JSONField(null=True)),
                ("person_id", models.BigIntegerField(null=True)),
                ("person_name", models.TextField(blank=True)),
                ("source", models.TextField(blank=True, help_text="Page, command or task; nothing for plain SQL.")),
                ("database_role", models.CharField(max_length=63)),
            ],
            options={
                "ordering": ("-id",),
                "indexes": [
                    models.Index(fields=["job_id", "id"], name="record_event_of_job"),
                    models.Index(fields=["record_id", "id"], name="record_event_of_record"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=Q(action="insert", before__isnull=True, after__isnull=False)
                        | Q(action="update", before__isnull=False, after__isnull=False)
                        | Q(action="delete", before__isnull=False, after__isnull=True),
                        name="record_event_action_has_its_sides",
                        violation_error_message=(
                            "action: accepted is insert with an after, update with both, delete with a before."
                        ),
                    ),
                ],
            },
        ),
        migrations.RunSQL([(FUNCTIONS, None)], DROP_FUNCTIONS),
        migrations.RunPython(keep, leave),
        migrations.RunPython(grant, take_back),
    ]
