"""How tests empty tables and write over signed and told rows, which the database refuses everybody else."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

EACH_REFUSAL = """
DO $$
DECLARE
    one record;
BEGIN
    FOR one IN
        SELECT tgrelid::regclass AS held, tgname FROM pg_trigger
        WHERE tgname IN ('refuse_rewriting', 'refuse_emptying', 'told_stays')
    LOOP
        EXECUTE format('ALTER TABLE %s {switch} TRIGGER %I', one.held, one.tgname);
    END LOOP;
END
$$
"""


@contextmanager
def rewriting_allowed() -> Iterator[None]:
    """Switch the database's refusals off and, in the same transaction, on again."""
    with transaction.atomic():
        _switch("DISABLE")
        yield
        _switch("ENABLE ALWAYS")


def _switch(word: str) -> None:
    with connection.cursor() as cursor:
        # A table that foreign keys wait to be checked of cannot be altered.
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute(EACH_REFUSAL.replace("{switch}", word))
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")
