"""Heads noted day by day outside of the database, and what the owner of its tables cannot hide from them."""

import sys
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from locates.chain import Place, entry_digest
from locates.desk.ledger import enter
from locates.desk.prove_ledger import prove_ledger
from locates.models import LedgerEntry
from locates.noted_heads import NotedHead, fault_of_heads, fault_of_moments, head_line, read_heads
from tests.factories import DailyWalkFactory
from tests.signing import signing

NOON = datetime(2026, 11, 10, 12, 0, tzinfo=UTC)
A, B = "a" * 64, "b" * 64


def noted(hours, sequence, digest=A):
    return NotedHead(NOON + timedelta(hours=hours), Place(sequence, digest))


def test_a_line_is_read_back_as_it_was_written():
    head = NotedHead(NOON.replace(microsecond=42), Place(17, A))
    assert head_line(head) == f"2026-11-10T12:00:00.000042Z entry 17 {A}"
    assert read_heads([f"{head_line(head)}\n", "\n", head_line(noted(0, 3)), "  "]) == [noted(0, 3), head]


@pytest.mark.parametrize(
    "line",
    [
        "Proven: 6 entries.",
        A,
        f"2026-11-10T12:00:00Z entry -1 {A}",
        f"2026-11-10T12:00:00Z entry 1 {A}{A}",
        f"2026-11-10T12:00:00Z entry 1 {A.upper()}",
        f"2026-11-10T12:00:00 entry 1 {A}",
        f"2026-13-10T12:00:00Z entry 1 {A}",
    ],
)
def test_a_line_of_another_form_is_told_by_its_number(line):
    with pytest.raises(ValueError, match=r"line 2: found '.*'; accepted is a moment in UTC, 'entry'"):
        read_heads([head_line(noted(0, 1)), line])


def test_the_first_head_that_is_not_there_is_told_with_the_last_that_is():
    heads = [noted(0, 0, "0" * 64), noted(1, 2), noted(2, 5), noted(3, 9)]
    assert fault_of_heads(heads, {2: A, 5: A, 9: A}) is None
    fault = fault_of_heads(heads, {2: A, 5: B, 9: B})
    assert fault.sequence == 5
    assert f"has the digest {B}; the head noted 2026-11-10 14:00:00 UTC was {A}." in fault.why
    assert "as noted up to entry 2." in fault.why
    assert "It is missing;" in fault_of_heads(heads, {2: A, 5: A}).why
    assert fault_of_heads([noted(0, 0, B)], {}).sequence == 0


def test_an_entry_after_a_head_is_no_older_than_it_but_for_the_length_of_a_transaction():
    heads, minute = [noted(0, 1), noted(24, 1), noted(48, 4)], timedelta(minutes=1)
    sound = [(1, NOON), (2, NOON + timedelta(hours=24) - 9 * minute), (3, NOON + timedelta(hours=30)),
             (4, NOON + timedelta(hours=25)), (5, NOON + timedelta(hours=48))]  # fmt: skip
    assert fault_of_moments(heads, sound) is None
    late = [*sound[:1], (2, NOON + timedelta(hours=24) - 11 * minute), *sound[2:]]
    fault = fault_of_moments(heads, late)
    assert fault.sequence == 2
    assert "made 2026-11-11 11:49:00 UTC" in fault.why
    assert "noted 2026-11-11 12:00:00 UTC" in fault.why
    assert fault_of_moments(heads, [*sound, (6, NOON)]).sequence == 6


@pytest.fixture
def run(monkeypatch):
    """The command as cron runs it: the file of heads in, its line out."""

    def verify(heads):
        out, err = StringIO(), StringIO()
        monkeypatch.setattr(sys, "stdin", StringIO(heads))
        try:
            call_command("verify_ledger", noted=True, stdout=out, stderr=err)
        except SystemExit as left:
            return left.code, out.getvalue(), err.getvalue()
        return 0, out.getvalue(), err.getvalue()

    return verify


@pytest.mark.django_db
def test_day_by_day_a_line_is_added_and_all_before_are_held_against_the_chain(chain, run):
    status, first, err = run("")
    assert (status, err) == (0, "")
    [head] = read_heads(first.splitlines())
    assert head.place == Place(6, chain[-1][1].entry_sha256)
    with signing(chain[0][0].walked_by):
        walk = DailyWalkFactory(bore=chain[0][0].bore, walked_by=chain[0][0].walked_by)
        enter(walk, by=walk.walked_by)
    status, second, err = run(first)
    assert (status, err) == (0, "")
    assert [one.place.sequence for one in read_heads((first + second).splitlines())] == [6, 7]
    assert run(first + second)[0] == 0


@pytest.mark.django_db
def test_a_chain_that_is_cut_behind_the_back_is_told_on_the_error_output_alone(chain, run, in_sql):
    _, before, _ = run("")
    last = chain[-1][0].pk
    in_sql(
        ("DELETE FROM locates_ledgerentry WHERE sequence=6",),
        ("DELETE FROM conflicts_dailywalk WHERE id=%s", last),
        ("DELETE FROM locates_recordevent WHERE record_id=%s", last),
    )
    assert prove_ledger().is_proven
    status, out, err = run(before)
    assert (status, out) == (1, "")
    assert err.startswith("Not proven. The first bad entry is 6. It is missing; the head noted ")


@pytest.mark.django_db
def test_an_entry_that_was_added_later_and_dated_before_is_found_by_the_heads_alone(chain, run, in_sql):
    """As whoever owns the tables could: signed as the person, then row, entry and event dated back."""
    _, before, _ = run("")
    with signing(chain[0][0].walked_by):
        walk = DailyWalkFactory(bore=chain[0][0].bore, walked_by=chain[0][0].walked_by)
        enter(walk, by=walk.walked_by)
    in_sql(
        ("UPDATE locates_ledgerentry SET entered_at = entered_at - interval '2 days' WHERE sequence=7",),
        (
            "UPDATE locates_recordevent SET happened_at = happened_at - interval '2 days',"
            " transaction_began_at = transaction_began_at - interval '2 days' WHERE record_id=%s",
            walk.pk,
        ),
    )
    digest = entry_digest(LedgerEntry.objects.get(sequence=7))
    in_sql(("UPDATE locates_ledgerentry SET entry_sha256=%s WHERE sequence=7", digest))
    assert prove_ledger().is_proven
    assert run("")[0] == 0
    status, out, err = run(before)
    assert (status, out) == (1, "")
    assert "The first bad entry is 7. It says that it was made " in err
    assert "it was not there when a head was noted " in err


@pytest.mark.django_db
def test_a_file_that_holds_something_else_is_bad_input_and_adds_nothing(run):
    with pytest.raises(CommandError, match="Heads noted before, line 1: found 'Not proven") as refused:
        run("Not proven.\n")
    assert refused.value.returncode == 2
