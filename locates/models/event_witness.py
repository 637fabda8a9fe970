"""What the record of changes knows of rows that are never changed, held against the rows themselves."""

from collections.abc import Sequence
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

EXACT = "SELECT name, locates_exact_row(name::regclass, 'n') FROM unnest(%s::text[]) AS name"

CHANGED_SINCE = "The record of changes says that it was changed or deleted since it was signed."
GONE = "The record of changes knows it, and it is gone."
UNKNOWN = "The record of changes does not know it, or not as it is."


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
