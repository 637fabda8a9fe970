"""A release is signed where nothing holds, and lapses with what it rests on."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.desk.withdraw_release import withdraw_release
from conflicts.errors import ReleaseHeldError, ShiftError
from conflicts.models import Release, ReleaseWithdrawal
from conflicts.release import ReleaseState, sign_release, standing_of
from locates.desk.retire import retire
from locates.models import LedgerEntry, Mark
from tests import factories
from tests.factories import box, point

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A bore of today, with nothing missing."""
    now = timezone.now()
    job = factories.small_job()
    job.tickets.update(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    bore = job.bores.get()
    factories.DailyWalkFactory(bore=bore, walked_at=now)
    return bore


def release_of(bore, **values):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=8)}
    return Release(bore=bore, **{"crew": "Crew 2", "rig": "Rig 7", **shift, **values})


@pytest.fixture
def foreman():
    return factories.person_in_role("Foreman")


@pytest.fixture
def release(bore, foreman):
    sign_release(release_of(bore), by=foreman)
    return Release.objects.with_course().get()


def test_a_signed_release_is_in_force_and_stands_in_the_ledger(release, foreman):
    standing = standing_of(release)
    assert (standing.state, standing.reasons) == (ReleaseState.IN_FORCE, ())
    assert standing.lapses_at <= release.shift_until
    assert not any(check["holds"] for check in release.document["checks"])
    entry = LedgerEntry.objects.get(kind="release")
    assert (entry.record_id, entry.entered_by) == (release.pk, foreman)


def test_sent_twice_it_is_signed_once(bore, foreman, release):
    assert sign_release(release_of(bore, pk=release.pk), by=foreman) == release
    assert Release.objects.count() == 1


def test_nothing_is_signed_while_a_check_holds(bore, foreman):
    bore.job.test_holes.update(is_open=False)
    with pytest.raises(ReleaseHeldError, match="Open them for the crossing watch"):
        sign_release(release_of(bore), by=foreman)
    assert not Release.objects.exists()
    assert not LedgerEntry.objects.exists()


@pytest.mark.parametrize(
    ("begins", "ends", "words"),
    [(-9, -1, "is over"), (0, 17, "too long"), (3, 2, "ends before"), (30, 38, "another day")],
)
def test_a_shift_that_cannot_be_is_refused(bore, foreman, begins, ends, words):
    now = timezone.now()
    shift = {"shift_from": now + timedelta(hours=begins), "shift_until": now + timedelta(hours=ends)}
    with pytest.raises(ShiftError, match=words):
        sign_release(release_of(bore, **shift), by=foreman)


def test_a_change_that_is_changed_back_ends_it_for_good(release):
    mark = Mark.objects.get()
    mark.stated_width_m, before = 0.7, mark.stated_width_m
    mark.save()
    mark.stated_width_m = before
    mark.save()
    standing = standing_of(release)
    assert standing.state is ReleaseState.LAPSED
    assert standing.reasons[0].startswith(f"Mark {mark.ref} was changed")


@pytest.mark.parametrize("table", ["tickets", "test_holes", "marks", "requirements"])
def test_a_change_of_what_it_rests_on_ends_it(release, table):
    assert getattr(release.bore.job, table).update(version=9)
    assert standing_of(release).state is ReleaseState.LAPSED


def test_what_lies_far_away_is_none_of_its_business(release):
    job = release.bore.job
    factories.GroundPointFactory(job=job, position=point(50, 400))
    assert standing_of(release).is_in_force
    factories.TicketFactory(job=job, number="T-9", area=factories.MultiPolygon(box(0, 300, 100, 600)))
    assert standing_of(release).reasons[0].startswith("Ticket T-9 was added")


def test_a_withdrawal_counts_at_once_though_the_clock_that_dated_it_was_ahead(release, foreman):
    withdrawal = ReleaseWithdrawal(release=release, reason="Rain.")
    withdraw_release(withdrawal, by=foreman, at=timezone.now() + timedelta(minutes=10))
    found = Release.objects.with_course().get()
    assert standing_of(found).state is ReleaseState.WITHDRAWN


def test_a_release_of_a_retired_job_is_still_taken_back(release, foreman):
    retire(release.bore.job, by=foreman)
    again = Release.objects.get(pk=release.pk)
    withdraw_release(ReleaseWithdrawal(release=again, reason="Rain."), by=foreman)
    assert ReleaseWithdrawal.objects.get().release == release
