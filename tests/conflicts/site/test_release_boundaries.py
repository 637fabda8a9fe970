"""The very moment at which time alone ends a release: a microsecond before it holds, at it it does not."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from conflicts.desk.variance import request_variance, sign_variance
from conflicts.models import Release, Variance, VarianceSignature
from conflicts.release import ReleaseState, sign_release, standing_at
from tests import factories

pytestmark = pytest.mark.django_db

ZONE = ZoneInfo("America/New_York")
MICROSECOND = timedelta(microseconds=1)


def local(day, hour, minute=0):
    return datetime(2026, 11, day, hour, minute, tzinfo=ZONE)


@pytest.fixture
def bore():
    """A bore to be drilled from November 10 to 11, 4 pm; its ticket runs until the 24th."""
    return factories.small_job().bores.get()


def signed(bore, at, hours):
    """A release signed at a moment, right after the walk, for a shift of so many hours."""
    factories.DailyWalkFactory(bore=bore, walked_at=at)
    shift = {"shift_from": at, "shift_until": at + timedelta(hours=hours)}
    release = Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift)
    sign_release(release, by=factories.PersonFactory(), at=at)
    return Release.objects.with_course().get()


def ends(release, at, state, words):
    """Hold a release to be in force until a moment and not at it."""
    before = standing_at(release, at - MICROSECOND, [])
    assert (before.state, before.lapses_at) == (ReleaseState.IN_FORCE, at)
    there = standing_at(release, at, [])
    assert there.state is state
    assert words in " ".join(there.reasons)


def test_it_begins_with_its_shift_and_no_earlier_moment_reads_yes(bore):
    release = signed(bore, local(10, 8), 9)
    assert standing_at(release, local(10, 8), []).is_in_force
    assert not standing_at(release, local(10, 8) - MICROSECOND, []).is_in_force


def test_its_shift_ends(bore):
    ends(signed(bore, local(10, 8), 9), local(10, 17), ReleaseState.OVER, "Its shift ended")


def test_a_ticket_runs_out(bore):
    bore.job.tickets.update(expires_at=local(10, 12))
    type(bore).objects.update(planned_finish_at=local(10, 12))
    ends(
        signed(bore, local(10, 8), 9),
        local(10, 12),
        ReleaseState.LAPSED,
        "expired Tue Nov 10, 2026, 12:00 pm",
    )


def test_the_planned_finish_passes(bore):
    type(bore).objects.update(planned_finish_at=local(10, 12))
    release = signed(bore, local(10, 8), 9)
    assert standing_at(release, local(10, 12), []).lapses_at == local(10, 12)
    late = standing_at(release, local(10, 12) + MICROSECOND, [])
    assert late.state is ReleaseState.LAPSED
    assert "is past: enter a new one" in " ".join(late.reasons)


def test_the_day_ends_and_a_walk_of_the_next_one_brings_it_not_back(bore):
    release = signed(bore, local(10, 20), 8)
    ends(release, local(11, 0), ReleaseState.LAPSED, "it holds on that day alone")
    factories.DailyWalkFactory(bore=bore, walked_at=local(11, 0, 5))
    assert standing_at(release, local(11, 0, 10), []).state is ReleaseState.LAPSED


@pytest.mark.parametrize(
    ("at", "midnight"),
    [
        (datetime(2026, 10, 31, 20, tzinfo=ZONE), datetime(2026, 11, 1, 4, tzinfo=UTC)),
        # Clocks go back an hour that night: the day has 25 hours.
        (datetime(2026, 11, 1, 20, tzinfo=ZONE), datetime(2026, 11, 2, 5, tzinfo=UTC)),
    ],
)
def test_the_day_ends_at_local_midnight_also_when_the_clocks_change(bore, at, midnight):
    bore.job.tickets.update(called_at=at - timedelta(days=12), legal_start_at=at - timedelta(days=9))
    bore.job.test_holes.update(measured_at=at - timedelta(days=1))
    bore.job.tickets.get().responses.update(responded_at=at - timedelta(days=8))
    release = signed(bore, at, 8)
    ends(release, midnight.astimezone(ZONE), ReleaseState.LAPSED, "it holds on that day alone")


def test_a_variance_ends(bore):
    bore.job.test_holes.update(is_open=None)
    asked = Variance(bore=bore, subject="check", check_code="watch_holes", reason="Two people look.")
    request_variance(asked, by=factories.PersonFactory(), at=local(10, 7))
    signature = VarianceSignature(variance=asked, valid_until=local(10, 12))
    sign_variance(signature, by=factories.PersonFactory(), at=local(10, 7))
    release = signed(bore, local(10, 8), 9)
    ends(release, local(10, 12), ReleaseState.LAPSED, "Not known to be open")
