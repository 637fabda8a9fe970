"""The records as they stood at a moment: read by the same code, from the record of every change.

Inside `as_of` each table of records is a temporary view of the last event at or before the moment, under the
table's own name, which PostgreSQL looks up before the table. Nothing can be written, and all of it goes with
the transaction; no other session sees any of it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from uuid import UUID

from django.apps import apps
from django.db import connection, models, transaction
from psycopg import sql

from locates.kept_records import APPS, kept_models
from locates.models import LedgerEntry, Membership, RecordEvent

# A transaction is whole or not there: it counts from the moment of its last event. An event that says that a
# record went to another job counts for the job that it left, too.
_PAST_ROWS = """
CREATE TEMPORARY TABLE locates_past ON COMMIT DROP AS
WITH of_job AS MATERIALIZED (
    SELECT id, table_name, record_id,
        max(happened_at) OVER (PARTITION BY transaction_id, transaction_began_at) AS settled_at
    FROM public.locates_recordevent WHERE job_id = {job} OR job_id IS NULL
),
latest AS (
    SELECT DISTINCT ON (table_name, record_id) id FROM of_job
    WHERE settled_at <= {at} ORDER BY table_name, record_id, id DESC
)
SELECT event.table_name, event.after FROM latest JOIN public.locates_recordevent event USING (id)
WHERE event.action <> 'delete' AND NOT EXISTS (
    SELECT FROM public.locates_recordevent later
    WHERE later.record_id = event.record_id AND later.table_name = event.table_name AND later.id > event.id
    AND later.happened_at <= {at} AND later.job_id IS DISTINCT FROM event.job_id
)
"""
_OF_THE_PAST = """
CREATE TEMPORARY VIEW {table} AS SELECT {columns} FROM pg_temp.locates_past,
LATERAL jsonb_populate_record(NULL::public.{table}, locates_past.after - {files}) AS was
WHERE locates_past.table_name = {name}
"""
# A file is never altered: where it is still there, it is the one of then.
_FILE = (
    "(SELECT live.{column} FROM public.{table} live WHERE live.id = was.id"
    " AND encode(sha256(live.{column}), 'hex') = locates_past.after #>> {digest}) AS {column}"
)
_NOTHING = "CREATE TEMPORARY VIEW {table} AS SELECT * FROM public.{table} WHERE false"
_LEDGER = "CREATE TEMPORARY VIEW {table} AS SELECT * FROM public.{table} WHERE entered_at <= {at}"

_OF_NOW = {RecordEvent, Membership}
"""The record itself, and who belongs to which company: who may look is of now."""


@contextmanager
def as_of(job_id: UUID, at: datetime) -> Iterator[None]:
    """Read a job, and what it shares with others, as they stood at a moment.

    Every query inside is of the past: records of other jobs are not there, nor is what is computed from
    records and stored. Who people are is of now. Nothing can be written. Read all that is needed inside,
    a page with its template.
    """
    is_outermost = not connection.in_atomic_block
    with transaction.atomic():
        with connection.cursor() as cursor:
            if is_outermost:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            cursor.execute(_statements(job_id, at).as_string(connection.connection))
            cursor.execute("SET TRANSACTION READ ONLY")
        try:
            yield
        finally:
            transaction.set_rollback(True)


def _statements(job_id: UUID, at: datetime) -> sql.Composed:
    moment = sql.Literal(at)
    kept = set(kept_models())
    views = [sql.SQL(_PAST_ROWS).format(job=sql.Literal(job_id), at=moment)]
    views += [_past_view(model) for model in kept - _OF_NOW]
    models_of_it = {model for label in APPS for model in apps.get_app_config(label).get_models()}
    for model in models_of_it - kept - _OF_NOW:
        words = _LEDGER if model is LedgerEntry else _NOTHING
        views.append(sql.SQL(words).format(table=sql.Identifier(model._meta.db_table), at=moment))
    return sql.SQL(";").join(views)


def _past_view(model: type[models.Model]) -> sql.Composed:
    table = model._meta.db_table
    columns, files = [], []
    for field in model._meta.concrete_fields:
        column = sql.Identifier(field.column)
        if not isinstance(field, models.BinaryField):
            columns.append(sql.SQL("was.{}").format(column))
            continue
        files.append(field.column)
        digest = sql.Literal([field.column, "sha256"])
        columns.append(sql.SQL(_FILE).format(column=column, table=sql.Identifier(table), digest=digest))
    return sql.SQL(_OF_THE_PAST).format(
        table=sql.Identifier(table),
        columns=sql.SQL(", ").join(columns),
        files=sql.SQL("{}::text[]").format(sql.Literal(files)),
        name=sql.Literal(table),
    )
