"""A clock that is wrong ends a release sooner and never keeps one alive, and what says no counts at once."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.clocks import dated_after, moments_now
from conflicts.desk.sign_walk import sign_walk
from conflicts.desk.variance import end_variance, request_variance, sign_variance
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.errors import ReleaseHeldError
from conflicts.models import (
    DailyWalk,
    Release,
    ReleaseWithdrawal,
    Variance,
    VarianceEnd,
    VarianceSignature,
)
from conflicts.release import ReleaseState, sign_release, standing_of
from tests import factories
from tests.site_of_today import bore_of_today
from tests.wrong_clocks import RIGHT, database_clock_off, machine_clock_off

pytestmark = pytest.mark.django_db

AHEAD, BEHIND = timedelta(minutes=10), timedelta(minutes=-10)
CLOCKS = [machine_clock_off, database_clock_off]


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def person():
    return factories.PersonFactory()


def signed(bore, by, hours=4.0):
    now = RIGHT()
    release = Release(
        bore=bore,
        crew="Crew 2",
        rig="Rig 7",
        shift_from=now - timedelta(minutes=30),
        shift_until=now + timedelta(hours=hours),
    )
    sign_release(release, by=by)
    return Release.objects.with_course().get(pk=release.pk)


def walk(bore, by, *, all_well):
    answers = {"marks_intact": all_well, "device_checked": True, "device": "receiver 7", "holes_open": True}
    return sign_walk(DailyWalk(bore=bore, **answers), by=by)


def day_check(bore, at):
    """Whether the check of the day holds at a moment."""
    [state] = computed_states([bore], at)
    return next(one["holds"] for one in state.document["checks"] if one["code"] == "day")


def excuse_the_holes(bore, by):
    """A signed variance for holes of which nobody knows whether they are open."""
    bore.job.test_holes.update(is_open=None)
    asked = Variance(bore=bore, subject="check", check_code="watch_holes", reason="Two people look.")
    request_variance(asked, by=factories.PersonFactory())
    signature = VarianceSignature(variance=asked, valid_until=RIGHT() + timedelta(hours=2))
    return sign_variance(signature, by=by)


@pytest.mark.parametrize("clock_off", CLOCKS)
def test_where_one_clock_is_past_the_end_of_the_shift_it_is_over(bore, person, clock_off):
    release = signed(bore, person, hours=0.1)
    assert standing_of(release).is_in_force
    with clock_off(AHEAD):
        assert standing_of(release).state is ReleaseState.OVER
    assert standing_of(release).is_in_force


@pytest.mark.parametrize("clock_off", CLOCKS)
def test_where_one_clock_is_before_its_signing_it_is_not_in_force(bore, person, clock_off):
    release = signed(bore, person)
    with clock_off(BEHIND):
        assert not standing_of(release).is_in_force
    assert standing_of(release).is_in_force


@pytest.mark.parametrize("clock_off", CLOCKS)
def test_where_a_ticket_has_run_out_by_one_clock_nothing_is_signed(bore, person, clock_off):
    soon = RIGHT() + timedelta(minutes=5)
    bore.job.tickets.update(expires_at=soon)
    type(bore).objects.update(planned_finish_at=soon)
    with clock_off(AHEAD), pytest.raises(ReleaseHeldError):
        signed(bore, person)
    assert signed(bore, person)


@pytest.mark.parametrize("clock_off", CLOCKS)
def test_where_a_ticket_may_not_be_worked_under_yet_by_one_clock_nothing_is_signed(bore, person, clock_off):
    factories.DailyWalkFactory(bore=bore, walked_at=RIGHT() - timedelta(minutes=30))
    bore.job.tickets.update(legal_start_at=RIGHT() - timedelta(minutes=5))
    with clock_off(BEHIND), pytest.raises(ReleaseHeldError, match="does not start before"):
        signed(bore, person)
    assert signed(bore, person)


@pytest.mark.parametrize("clock_off", CLOCKS)
@pytest.mark.parametrize("off", [AHEAD, BEHIND])
def test_a_walk_that_says_no_counts_at_once_and_one_that_says_yes_after_it(bore, person, clock_off, off):
    with clock_off(off):
        walk(bore, person, all_well=False)
    assert day_check(bore, RIGHT())
    with pytest.raises(ReleaseHeldError, match="not all intact"):
        signed(bore, person)
    with clock_off(off):
        walk(bore, person, all_well=True)
    assert not day_check(bore, RIGHT())
    # By the clock that dated it as well.
    with clock_off(off):
        walk(bore, person, all_well=False)
        with pytest.raises(ReleaseHeldError):
            signed(bore, person)


def test_walks_keep_their_order_though_each_is_signed_by_another_clock(bore, person):
    order = []
    for off in (AHEAD, BEHIND, timedelta(0), timedelta(days=-3), timedelta(days=3), BEHIND):
        with machine_clock_off(off):
            order.append(walk(bore, person, all_well=True).pk)
    newest = DailyWalk.objects.filter(bore=bore).newest_first()
    assert [one.pk for one in newest][: len(order)] == order[::-1]
    assert max(one.walked_at for one in newest) <= RIGHT()


@pytest.mark.parametrize("clock_off", CLOCKS)
@pytest.mark.parametrize("off", [AHEAD, BEHIND])
def test_an_ended_variance_excuses_nothing_from_then_on(bore, person, clock_off, off):
    signature = excuse_the_holes(bore, person)
    release = signed(bore, person)
    with clock_off(off):
        end = end_variance(VarianceEnd(variance=signature.variance, reason="Done."), by=person)
    assert end.ended_at <= RIGHT()
    assert standing_of(release).state is ReleaseState.LAPSED
    with pytest.raises(ReleaseHeldError, match="Not known to be open"):
        signed(bore, person)


@pytest.mark.parametrize("clock_off", CLOCKS)
def test_a_withdrawal_is_dated_by_no_clock_that_is_ahead(bore, person, clock_off):
    release = signed(bore, person)
    with clock_off(AHEAD):
        taken = withdraw_release(ReleaseWithdrawal(release=release, reason="Rain."), by=person)
    assert release.signed_at < taken.withdrawn_at <= RIGHT()
    found = Release.objects.with_course().get()
    for off in (AHEAD, BEHIND):
        with clock_off(off):
            assert standing_of(found).state is ReleaseState.WITHDRAWN


def test_both_clocks_are_asked_and_the_earlier_comes_first():
    for clock_off in CLOCKS:
        for off in (AHEAD, BEHIND):
            with clock_off(off):
                first, last = moments_now()
                assert last - first == pytest.approx(AHEAD, abs=timedelta(seconds=5))


def test_what_is_signed_is_dated_by_the_earlier_clock_and_after_what_was_before():
    noon = timezone.now()
    late = noon + AHEAD
    tick = timedelta.resolution
    assert dated_after((noon, late)) == noon
    assert dated_after((noon, late), None, noon - AHEAD) == noon
    assert dated_after((noon, late), noon, None) == noon + tick
    assert dated_after((noon, late), late - tick) == late
    # What is dated past both clocks says nothing of them.
    assert dated_after((noon, late), late, late + AHEAD) == noon
