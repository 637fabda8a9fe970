"""People watch, close out and change the records at the same moment, each over a connection of its own."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from uuid import uuid4

import pytest
from django.db import connection, transaction

from conflicts.assess import store_assessment
from conflicts.desk.close_out import close_out
from conflicts.desk.record_watch import record_watch
from conflicts.errors import ReleaseHeldError, WatchError
from conflicts.models import CloseOut, CrossingWatch
from locates.desk.ledger import enter
from locates.desk.prove_ledger import prove_ledger
from locates.desk.save_record import hold_job
from locates.models import ClearanceRequirement, LedgerEntry, Mark, TestHole
from tests import factories
from tests.conflicts.audit.signed_stories import signer, stood
from tests.database_sessions import waiting_sessions
from tests.polling import wait_until
from tests.signing import signing
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

WAIT_S = 20.0
PASSES = ("pilot", "reaming", "pullback")


@pytest.fixture
def bore():
    bore, releasing = bore_of_today(), signer()
    with signing(releasing), transaction.atomic():
        enter(stood(bore), by=releasing)
    return bore


@pytest.fixture
def person():
    return factories.PersonFactory()


def watch(bore, pass_made, gap_m=0.6, key=None):
    """A watch of the crossing at the middle of the bore, as a form was shown it."""
    mark = Mark.with_retired.get(job=bore.job_id)
    shown = {"mark": mark, "kind": "crossing", "station_m": 50.0}
    return CrossingWatch(pk=key or uuid4(), bore=bore, pass_made=pass_made, seen=True, gap_m=gap_m, **shown)


@contextmanager
def meanwhile(bore, task):
    """Begin a task on another connection while this one holds the job; its future answers after the block."""

    def do():
        try:
            return task()
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as other, transaction.atomic():
        hold_job(bore.job_id)
        future = other.submit(do)
        yield future
    assert future.done()


def waits():
    wait_until(lambda: waiting_sessions() > 0, "the other one waits for the job", WAIT_S)


def test_a_watch_is_held_against_what_is_required_once_its_turn_has_come(bore, person):
    with meanwhile(bore, lambda: record_watch(watch(bore, "pilot"), by=person)) as signed:
        ClearanceRequirement.objects.filter(job=bore.job).update(crossing_m=0.9)
        TestHole.objects.filter(job=bore.job).update(dug_depth_m=2.5)
        waits()
    stored = CrossingWatch.objects.get(pk=signed.result().pk)
    assert (stored.required_m, stored.hole_bottom_m) == (0.9, 2.5)


def test_a_watch_of_a_line_that_is_moved_away_meanwhile_is_refused_whole(bore, person):
    with meanwhile(bore, lambda: record_watch(watch(bore, "pilot"), by=person)) as signed:
        TestHole.objects.filter(job=bore.job).update(mark=None)
        Mark.objects.filter(job=bore.job).update(geometry=factories.line((50, 300), (50, 400)))
        waits()
    with pytest.raises(WatchError, match="no longer there as it was shown"):
        signed.result()
    assert not CrossingWatch.objects.exists()
    assert not LedgerEntry.objects.filter(kind="watch").exists()


def test_a_stop_that_is_signed_while_somebody_closes_out_is_heard(bore, person):
    for pass_made in PASSES:
        record_watch(watch(bore, pass_made), by=person)
    with meanwhile(bore, lambda: close_out(CloseOut(bore=bore), by=person)) as closing:
        record_watch(watch(bore, "pullback", gap_m=0.1), by=person)
        waits()
    with pytest.raises(ReleaseHeldError, match="less than required"):
        closing.result()
    assert not CloseOut.objects.exists()


def test_the_watch_that_was_missing_is_in_the_grounds_of_who_waited_for_it(bore, person):
    for pass_made in PASSES[:2]:
        record_watch(watch(bore, pass_made), by=person)
    last = watch(bore, "pullback")
    with meanwhile(bore, lambda: close_out(CloseOut(bore=bore), by=person)) as closing:
        record_watch(last, by=person)
        waits()
    [row] = closing.result().grounds["crossings"]
    assert row["passes"][-1]["watches"][-1]["watch"] == str(last.pk)
    assert closing.result().closed_at > last.watched_at


def test_watches_and_close_outs_at_once_are_one_order_and_one_chain(bore, person):
    keys = [uuid4() for _ in PASSES]

    def sign_all():
        for key, pass_made in zip(keys, PASSES, strict=True):
            record_watch(watch(bore, pass_made, key=key), by=person)
        return close_out(CloseOut(bore=bore), by=person).pk

    def alone():
        try:
            with signing(person):
                return sign_all()
        finally:
            connection.close()

    store_assessment(bore.pk)
    with ThreadPoolExecutor(4) as people:
        closed = [future.result() for future in [people.submit(alone) for _ in range(4)]]
    assert len(set(closed)) == CloseOut.objects.count() == 1
    assert CrossingWatch.objects.count() == len(PASSES)
    moments = list(CrossingWatch.objects.order_by("entered_at").values_list("watched_at", flat=True))
    assert moments == sorted(moments)
    proof = prove_ledger()
    assert (proof.fault, proof.count) == (None, len(PASSES) + 3)  # the walk, the release and the close-out
