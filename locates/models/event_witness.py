"""What the record of changes knows of rows that are never changed, held against the rows themselves."""

from collections.abc import Collection, Mapping, Sequence
from datetime import timedelta
from typing import NamedTuple
from uuid import UUID

from django.db import connection

# A migration that adds a column tells the rows' new shape: what both sides have is the same then.
CHANGED = """
SELECT e.table_name, e.record_id, l.sequence
FROM locates_recordevent e LEFT JOIN locates_ledgerentry l ON l.record_id = e.record_id
WHERE e.table_name = ANY(%(tables)s) AND (e.action = 'delete' OR e.action = 'update' AND EXISTS (
    SELECT 1 FROM jsonb_each(e.before) AS was WHERE e.after -> was.key IS DISTINCT FROM was.value))
ORDER BY l.sequence, e.id LIMIT 1
"""

UNLIKE = """
SELECT coalesce(n.id, e.record_id), l.sequence, n.id IS NULL
FROM (
    SELECT DISTINCT ON (record_id) record_id, after FROM locates_recordevent
    WHERE table_name = %(table)s ORDER BY record_id, id DESC
) AS e
FULL JOIN (SELECT n.id, {exact} AS exact FROM {table} n) AS n ON n.id = e.record_id
LEFT JOIN locates_ledgerentry l ON l.record_id = coalesce(n.id, e.record_id)
WHERE e.after IS DISTINCT FROM n.exact ORDER BY l.sequence, 1 LIMIT 1
"""

# Of every entry with its row's event: whether a page or command stored the row for the person who signed, at
# the time of its entry, and as which role. A command that makes signed rows may name no person. A role that
# is not there any more says nothing: the database may have come from elsewhere.
UNSIGNED = """
WITH signed AS (
    SELECT e.*, l.sequence, l.entered_by_id, l.entered_at, role.is_owner,
        e.source = ANY(%(commands)s) AS by_command
    FROM locates_ledgerentry l
    JOIN unnest(%(kinds)s::text[], %(tables)s::text[]) AS known (kind, table_name) ON known.kind = l.kind
    JOIN locates_recordevent e ON e.record_id = l.record_id AND e.table_name = known.table_name
        AND e.action = 'insert'
    LEFT JOIN (
        SELECT r.rolname, pg_has_role(r.oid, c.relowner, 'MEMBER') AS is_owner FROM pg_roles r, pg_class c
        WHERE c.oid = 'locates_recordevent'::regclass
    ) AS role ON role.rolname = e.database_role
    WHERE l.sequence > %(after)s AND l.sequence <= %(until)s
), told AS (
    SELECT table_name, record_id, sequence, id, CASE
        WHEN NOT by_command AND NOT starts_with(source, 'page /') THEN 'no page'
        WHEN person_id IS DISTINCT FROM entered_by_id AND NOT (by_command AND person_id IS NULL)
            THEN 'other person'
        WHEN happened_at NOT BETWEEN entered_at - %(apart)s AND entered_at + %(apart)s THEN 'other time'
        WHEN is_owner AND id > (SELECT min(s.id) FROM signed s WHERE NOT s.is_owner) THEN 'owner'
    END AS why FROM signed
)
SELECT table_name, record_id, sequence, why FROM told WHERE why IS NOT NULL ORDER BY sequence, id LIMIT 1
"""

APART_AT_MOST = timedelta(minutes=10)
"""A row's event from its entry, by one clock in one transaction; common practice, no source."""

EXACT = "SELECT name, locates_exact_row(name::regclass, 'n') FROM unnest(%s::text[]) AS name"

CHANGED_SINCE = "The record of changes says that it was changed or deleted since it was signed."
GONE = "The record of changes knows it, and it is gone."
UNKNOWN = "The record of changes does not know it, or not as it is."
NO_PAGE = "The record of changes names no page that it was signed on."
OTHER_PERSON = "The record of changes says that another person, or nobody, stored what this one signed."
OTHER_TIME = "The record of changes says that it was stored at another time than its entry says."
BY_OWNER = (
    "The record of changes says that the owner of the tables stored it, after the program had been served as "
    "another role."
)
NOT_SIGNED = {"no page": NO_PAGE, "other person": OTHER_PERSON, "other time": OTHER_TIME, "owner": BY_OWNER}


class Unlike(NamedTuple):
    """A row that the record of changes tells otherwise, its number in the ledger, and what is not so."""

    table: str
    record_id: UUID
    sequence: int | None
    why: str


def first_unlike(tables: Sequence[str]) -> Unlike | None:
    """The first in the ledger of all rows, of tables never changed, that belie their events.

    Whoever changes, takes out or puts in a row behind the triggers has to write over its events as well.
    """
    found = []
    with connection.cursor() as cursor:
        cursor.execute(CHANGED, {"tables": list(tables)})
        found += [Unlike(*one, CHANGED_SINCE) for one in cursor.fetchall()]
        cursor.execute(EXACT, [list(tables)])
        for table, exact in cursor.fetchall():
            question = UNLIKE.replace("{exact}", exact).replace("{table}", connection.ops.quote_name(table))
            cursor.execute(question, {"table": table})
            found += [
                Unlike(table, record_id, sequence, GONE if is_gone else UNKNOWN)
                for record_id, sequence, is_gone in cursor.fetchall()
            ]
    # One without an entry comes after all that have one.
    return min(found, key=lambda one: (one.sequence is None, one.sequence or 0), default=None)


def first_unsigned(
    tables: Mapping[str, str], commands: Collection[str], *, after: int, until: int
) -> Unlike | None:
    """The first entry, of a stretch of the ledger, whose row no person signed on a page of the program.

    Whoever puts a row in by SQL with the triggers on is written down by them: as nobody from nowhere, unless
    its connection was told a person and a page; and as the owner of the tables, unless logged in as the role
    that serves.

    Parameters
    ----------
    tables : mapping of str
        Table of each kind.
    commands : collection of str
        Sources that sign and are no page; they may name no person.
    after, until : int
        Numbers of the entry before the stretch and of its last.
    """
    values = {
        "kinds": list(tables),
        "tables": list(tables.values()),
        "commands": list(commands),
        "after": after,
        "until": until,
        "apart": APART_AT_MOST,
    }
    with connection.cursor() as cursor:
        cursor.execute(UNSIGNED, values)
        found = cursor.fetchone()
    return None if found is None else Unlike(*found[:3], NOT_SIGNED[found[3]])
