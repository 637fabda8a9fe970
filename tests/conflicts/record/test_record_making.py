"""Asking for a clearance record, making it, and what comes of faults and of killed workers."""

from uuid import uuid4

import pytest

from conflicts.models import Bore, RecordMaking
from conflicts.models.record_making import MakingPhase
from conflicts.record import make
from conflicts.record.ask import ask_for_record
from conflicts.record.progress import progress_of
from locates.models import Mark
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


@pytest.fixture
def manager():
    return factories.person_in_role("Safety manager", first_name="Wren", last_name="Ashgrove")


def made(bore, by):
    """The row of a record that was asked for and made."""
    row = ask_for_record(bore, uuid4(), by=by)
    make.run(row.pk)
    row.refresh_from_db()
    return row


def test_a_record_is_kept_with_its_bytes_digests_and_who_had_it_made(bore, manager):
    row = made(bore, manager)
    assert row.state == "done"
    assert bytes(row.content).startswith(b"%PDF-")
    assert row.size_bytes == len(row.content)
    assert row.made_by_name == "Wren Ashgrove"
    assert row.page_count > 5


def test_each_phase_is_told_to_who_waits_in_its_order(bore, manager, monkeypatch):
    told, tell = [], RecordMaking.tell

    def heard(row, phase):
        tell(row, phase)
        progress = progress_of(RecordMaking.objects.get(pk=row.pk))
        told.append((phase, progress["rows_done"]))

    monkeypatch.setattr(RecordMaking, "tell", heard)
    made(bore, manager)
    assert told == [(phase, place) for place, phase in enumerate(MakingPhase)]


def test_asked_again_with_nothing_changed_it_is_the_one_that_is_there(bore, manager):
    first, second = made(bore, manager), made(bore, manager)
    assert second.same_as == first
    assert second.content is None
    assert list(RecordMaking.objects.made_of(bore.pk)) == [first]


def test_asked_again_after_a_change_it_is_another(bore, manager):
    first = made(bore, manager)
    mark = Mark.objects.get(job=bore.job)
    mark.located_by = "another locator"
    mark.save()
    second = made(bore, manager)
    assert second.same_as is None
    assert second.sha256 != first.sha256
    assert list(RecordMaking.objects.made_of(bore.pk)) == [second, first]


def test_a_request_sent_twice_asks_once_and_another_waits_for_the_one_that_is_there(bore, manager):
    request_id = uuid4()
    row = ask_for_record(bore, request_id, by=manager)
    assert ask_for_record(bore, request_id, by=manager) == row
    assert ask_for_record(bore, uuid4(), by=manager) == row
    make.run(row.pk)
    assert ask_for_record(bore, request_id, by=manager) == row
    assert RecordMaking.objects.count() == 1


def test_a_record_that_is_made_is_not_made_again(bore, manager):
    row = made(bore, manager)
    make.run(row.pk)
    assert RecordMaking.objects.get(pk=row.pk).attempts == 1


def test_a_bore_that_cannot_be_computed_is_refused_with_its_reason(bore, manager):
    rule = factories.JurisdictionRuleFactory(tolerance_zone_m=None, tolerance_is_sure=False)
    bore.job.jurisdiction = rule
    bore.job.save()
    row = made(bore, manager)
    assert row.state == "given up"
    assert row.failure.startswith(
        f"No record can be made: job {bore.job.name}: the rule of {rule.code} has no"
    )
    assert row.attempts == 1


def test_a_bore_that_was_retired_meanwhile_is_refused(bore, manager):
    row = ask_for_record(bore, uuid4(), by=manager)
    factories.stand_aside(bore)
    make.run(row.pk)
    row.refresh_from_db()
    assert row.state == "given up"


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_fault_is_noted_raised_and_given_up_after_three_attempts(bore, manager, settings):
    row = ask_for_record(bore, uuid4(), by=manager)
    settings.TEMPLATES = []  # the pages cannot be written
    for attempt in (1, 2, 3):
        with pytest.raises(Exception, match=r"record\.html"):
            make.run(row.pk)
        row.refresh_from_db()
        assert row.attempts == attempt
    assert row.state == "given up"
    assert "Tried 3 times" in row.failure


def test_a_work_whose_workers_died_is_given_up(bore, manager):
    row = ask_for_record(bore, uuid4(), by=manager)
    RecordMaking.objects.update(state="running", attempts=3)
    make.run(row.pk)
    row.refresh_from_db()
    assert row.failure == "The worker ended in the middle of the work. Tried 3 times; nothing is stored."


def test_what_was_forgotten_is_called_out_once_in_a_while(bore, manager):
    row = ask_for_record(bore, uuid4(), by=manager)
    assert make.sweep() == 0
    RecordMaking.objects.update(rung_at="2026-01-01T00:00Z")
    assert RecordMaking.objects.call_out_forgotten(9) == [row.pk]
    assert RecordMaking.objects.call_out_forgotten(9) == []


def test_the_record_of_one_bore_says_nothing_of_another(bore, manager):
    other = factories.BoreFactory(job=bore.job)
    assert made(bore, manager).said_digest != made(other, manager).said_digest
    assert Bore.objects.count() == 2
