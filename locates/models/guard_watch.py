"""Whether the database's own guards of what is kept and signed still stand, as the migrations made them."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from django.db import connection

REFUSAL = "locates_refuse_rewriting"


class Guard(NamedTuple):
    """A trigger that has to be there, always enabled, and the function that it calls."""

    table: str
    name: str
    function: str = REFUSAL


# Bits of pg_trigger.tgtype: each row 1, before 2, insert 4, delete 8, update 16, truncate 32.
WHEN = {
    "keep_insert": 4,
    "keep_delete": 8,
    "keep_update": 16,
    "refuse_emptying": 2 + 32,
    "refuse_rewriting": 2 + 8 + 16 + 32,
    "refuse_forging": 2 + 4,
    "told_stays": 1 + 2 + 16,
    "record_stays": 1 + 2 + 8 + 16,
    "company_stays": 1 + 2 + 16,
    "rule_of_its_company_insert": 1 + 2 + 4,
    "rule_of_its_company_update": 1 + 2 + 16,
}
# What may change until it was told or made, or while a certain value of it stays.
CONDITIONAL = {"told_stays", "record_stays", "company_stays", "rule_of_its_company_update"}

# By what a function says, since another of its name would stand for it.
SHA256_OF_SOURCE = {
    "locates_refuse_rewriting": "2c729fb8582783d12c445a81f2d62164fa6fea30eea4706e5dc45d3d2e210e8a",
    "locates_refuse_forging": "184426daa5a9c3fe07b73720bfd4e1ddc5245cd43946bf42ce13f9e48a08e3ed",
    "locates_job_rule_of_its_company": "bb15ec7165cd84d946d2a7df8ad8556d16099581344f4078a59be15b0c2be17c",
}

STANDING = """
SELECT c.relname, t.tgname, p.proname, t.tgtype, t.tgenabled::text, t.tgqual IS NOT NULL,
    encode(sha256(convert_to(p.prosrc, 'UTF8')), 'hex')
FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid
WHERE NOT t.tgisinternal AND c.relnamespace = 'public'::regnamespace AND c.relname = ANY(%s)
"""
BYPASSES = """
SELECT c.relname, 'rule ' || r.rulename FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class
WHERE c.relnamespace = 'public'::regnamespace AND c.relname = ANY(%s)
"""


def guards_fallen(expected: Iterable[Guard]) -> list[str]:
    """What does not stand as it should, a sentence each; nothing where every guard does.

    A trigger of another name on a guarded table and a rule are told too: they could alter what is written
    before a guard sees it.
    """
    guards = list(expected)
    tables = sorted({guard.table for guard in guards})
    with connection.cursor() as cursor:
        cursor.execute(STANDING, [tables])
        standing = {(table, name): rest for table, name, *rest in cursor.fetchall()}
        cursor.execute(BYPASSES, [tables])
        strangers = cursor.fetchall()
    told = [words for guard in guards for words in _faults(guard, standing.get((guard.table, guard.name)))]
    known = {(guard.table, guard.name) for guard in guards}
    strangers += [(table, f"trigger {name}") for table, name in standing if (table, name) not in known]
    return told + [f"The {name} of {table} is none of this program's." for table, name in sorted(strangers)]


def _faults(guard: Guard, found: list | None) -> Iterator[str]:
    its = f"The guard {guard.name} of {guard.table}"
    if found is None:
        yield f"{its} is gone."
        return
    function, when, enabled, has_condition, source = found
    if enabled != "A":
        yield f"{its} is switched off." if enabled == "D" else f"{its} does not stand in every session."
    is_as_made = function == guard.function and when == WHEN[guard.name]
    is_as_made &= has_condition == (guard.name in CONDITIONAL)
    if not is_as_made or SHA256_OF_SOURCE.get(function, source) != source:
        yield f"{its} is not as it was made."
