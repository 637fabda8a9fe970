"""People sign and change records at the same moment, each over a connection of its own."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.utils import timezone

from conflicts.errors import ReleaseHeldError
from conflicts.models import Release
from conflicts.release import ReleaseState, sign_release, standing_of
from locates.desk.ledger import enter
from locates.desk.prove_ledger import prove_ledger
from locates.models import LedgerEntry, TestHole
from tests import factories
from tests.signing import signing

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

ROUNDS = 6


@pytest.fixture
def bore():
    """A bore of today, with nothing missing."""
    now = timezone.now()
    job = factories.small_job(time_zone="UTC")
    job.tickets.update(expires_at=now + timedelta(days=20))
    job.bores.update(planned_start_at=now, planned_finish_at=now + timedelta(days=1))
    person = factories.PersonFactory()
    with signing(person), transaction.atomic():
        walk = factories.DailyWalkFactory(bore=job.bores.get(), walked_at=now, walked_by=person)
        enter(walk, by=person)
    return job.bores.get()


def together(*tasks):
    """Do all at the same moment, and give what came of each: its answer or its refusal."""
    start = Barrier(len(tasks))

    def do(task):
        try:
            start.wait(timeout=30)
            return task()
        except ReleaseHeldError as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(tasks)) as people:
        return list(people.map(do, tasks))


def releasing(bore, person, key=None):
    now = timezone.now()
    release = Release(
        pk=key or uuid4(),
        bore=bore,
        crew="Crew 2",
        rig="Rig 7",
        shift_from=now - timedelta(minutes=1),
        shift_until=now + timedelta(hours=4),
    )

    def sign():
        with signing(person):
            return sign_release(release, by=person)

    return sign


def test_a_hole_closed_while_somebody_signs_stops_the_release_or_ends_it(bore):
    """Also where it is opened again at once: what was signed in between does not come to life."""
    person = factories.PersonFactory()

    def close():
        TestHole.objects.filter(job=bore.job).update(is_open=False)

    for _ in range(ROUNDS):
        TestHole.objects.filter(job=bore.job).update(is_open=True)
        signed, _ = together(releasing(bore, person), close)
        if isinstance(signed, Release):
            found = Release.objects.with_course().get(pk=signed.pk)
            assert standing_of(found).state is ReleaseState.LAPSED
        TestHole.objects.filter(job=bore.job).update(is_open=True)
        assert not any(standing_of(one).is_in_force for one in Release.objects.with_course())
    assert LedgerEntry.objects.count() == Release.objects.count() + 1  # the walk


def test_the_same_form_sent_by_two_at_once_is_one_release(bore):
    key = uuid4()
    people = factories.PersonFactory.create_batch(4)
    signed = together(*(releasing(bore, person, key) for person in people))
    assert {one.pk for one in signed} == {key}
    assert len({one.signed_by_id for one in signed}) == 1
    assert (Release.objects.count(), LedgerEntry.objects.filter(kind="release").count()) == (1, 1)


def test_different_forms_at_once_make_one_chain_without_gaps(bore):
    people = factories.PersonFactory.create_batch(6)
    signed = together(*(releasing(bore, person) for person in people))
    assert len({one.pk for one in signed}) == len(people)
    count = len(people) + 1  # with the walk
    assert list(LedgerEntry.objects.values_list("sequence", flat=True)) == list(range(1, count + 1))
    proof = prove_ledger()
    assert (proof.fault, proof.count) == (None, count)
