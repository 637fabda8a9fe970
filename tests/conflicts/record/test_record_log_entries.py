"""The record has the entry of each rod, pass and check of the device, and of what was taken back."""

from dataclasses import replace
from hashlib import sha256

import pytest

from conflicts.desk.log_pass import log_pass, withdraw_pass
from conflicts.desk.log_rod import check_locator, withdraw_rods
from conflicts.errors import PassAskedError
from conflicts.models import DrilledRod, HolePass, HolePassWithdrawal, LocatorCheck, RodWithdrawal
from conflicts.record.chain_sheet import RecordLogEntry
from conflicts.record.render import record_html, render_record
from locates.models import LedgerEntry
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.conflicts.rods.test_lines_met_then import ALONG, drill
from tests.conflicts.site.test_lost_stops import release, see
from tests.pdf_reading import page_texts
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    stored = bore_of_today()
    release(stored, factories.PersonFactory())
    return stored


def ream(bore):
    """A reaming of the whole hole, whatever is asked about it."""
    person = factories.PersonFactory()
    entry = {"bore": bore, "kind": "reaming", "diameter_m": bore.final_diameter_m}
    try:
        return log_pass(HolePass(**entry), by=person)
    except PassAskedError as asked:
        tokens = [one.token for one in asked.oddities]
    return log_pass(HolePass(**entry), by=person, confirmed=tokens)


@pytest.fixture
def drilled(bore):
    """Four rods, the last entered wrongly and the third pulled back; a check; a pass that was withdrawn."""
    person = factories.PersonFactory(first_name="Wren", last_name="Ashgrove")
    hole = bore.job.test_holes.get()
    check = LocatorCheck(bore=bore, hole=hole, device="Receiver 7", read_depth_m=1.0, measured_depth_m=1.0)
    check_locator(check, by=person)
    drill(bore, ALONG)
    for number, kind in ((4, "undo"), (3, "pull_back")):
        rod = DrilledRod.objects.get(bore=bore, number=number)
        withdraw_rods(RodWithdrawal(rod=rod, kind=kind, reason="a stone"), by=person)
    see(bore, person)
    withdraw_pass(HolePassWithdrawal(hole_pass=ream(bore), reason="another bore"), by=person)
    return bore


def test_every_entry_of_a_bore_is_in_its_record(drilled):
    chain = read_clearance_record(drilled.pk).chain
    told = sorted(one.sequence for one in (*chain.entries, *chain.log))
    assert told == list(LedgerEntry.objects.filter(job=drilled.job).values_list("sequence", flat=True))
    assert [one.of for one in chain.log] == [
        f"Check at {drilled.job.test_holes.get().ref}", "Rod 1", "Rod 2", "Rod 3", "Rod 4",
        "Withdrawal from rod 4 on", "Withdrawal from rod 3 on", "Reaming", "Withdrawal of a reaming",
    ]  # fmt: skip
    kept = dict(LedgerEntry.objects.values_list("sequence", "entry_sha256"))
    assert all(kept[one.sequence] == one.entry_sha256 for one in chain.log)


def test_the_page_of_the_ledger_has_each_with_who_entered_it(drilled):
    part = record_html(read_clearance_record(drilled.pk)).partition("<h2>The ledger</h2>")[2]
    [row] = [row for row in part.split("<tr>") if "Withdrawal from rod 3 on" in row]
    entry = LedgerEntry.objects.get(record_id=RodWithdrawal.objects.get(kind="pull_back").pk)
    assert "<td>Wren Ashgrove</td>" in row
    assert entry.entry_sha256 in row


def test_what_was_logged_after_the_moment_has_no_entry_in_a_record_of_then(drilled):
    rods = DrilledRod.objects.order_by("logged_at")
    chain = read_clearance_record(drilled.pk, rods[1].logged_at).chain
    assert [one.of for one in chain.log][1:] == ["Rod 1", "Rod 2"]


def test_a_log_that_is_all_there_is_is_not_called_nothing(drilled):
    record = read_clearance_record(drilled.pk)
    nothing = "No entry is about this bore."
    assert nothing not in record_html(replace(record, chain=replace(record.chain, entries=())))
    assert nothing in record_html(replace(record, chain=replace(record.chain, entries=(), log=())))


def test_sixty_rods_take_a_page_more_at_most(bore):
    record = read_clearance_record(bore.pk)
    log = tuple(
        RecordLogEntry(
            sequence=1000 + number,
            of=f"Rod {number}",
            entered_at=record.as_of,
            entered_by="Wren Ashgrove",
            entry_sha256=sha256(str(number).encode()).hexdigest(),
        )
        for number in range(1, 61)
    )
    without = page_texts(render_record(record).content)
    pages = page_texts(render_record(replace(record, chain=replace(record.chain, log=log))).content)
    assert len(pages) <= len(without) + 1
    text = "".join(pages)
    assert all(one.entry_sha256 in text for one in log)
