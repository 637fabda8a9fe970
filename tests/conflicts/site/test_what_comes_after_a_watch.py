"""What is logged after a watch is dated after it, though the machine that logs it is behind."""

from datetime import timedelta

import pytest

from conflicts.desk.log_pass import log_pass
from conflicts.desk.log_rod import log_rod, withdraw_rods
from conflicts.errors import PassAskedError, RodAskedError
from conflicts.models import DrilledRod, HolePass, RodWithdrawal
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.rods.test_pilot_drilled_anew import drill
from tests.conflicts.site.test_closing_faults import PASSES, missing
from tests.conflicts.site.test_lost_stops import see, see_though_asked
from tests.site_of_today import bore_of_today
from tests.wrong_clocks import database_clock_off, machine_clock_off

pytestmark = pytest.mark.django_db

BEHIND = timedelta(minutes=-10)
CLOCKS = [machine_clock_off, database_clock_off]


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def bore(person):
    """A bore over one gas line at 50 m under a release, drilled by rods of 20 m and watched just now."""
    stored = bore_of_today()
    stood(stored)
    drill(stored, None, 5, depth_m=2.0)
    for pass_made in PASSES:
        see(stored, person, pass_made)
    assert missing(stored) == []
    return stored


@pytest.mark.parametrize("clock_off", CLOCKS)
def test_a_pull_back_by_a_clock_that_is_behind_asks_for_a_new_watch(bore, person, clock_off):
    rod = DrilledRod.objects.get(bore=bore, number=2)
    with clock_off(BEHIND):
        withdraw_rods(RodWithdrawal(rod=rod, kind="pull_back", reason="Off line."), by=person)
    drill(bore, DrilledRod.objects.get(bore=bore, number=1), 4, depth_m=2.0)
    assert "Rods were pulled back after the last watch of the pilot" in missing(bore)[0]


@pytest.mark.parametrize("clock_off", CLOCKS)
def test_a_second_reamer_by_a_clock_that_is_behind_is_asked_about_and_watched(bore, person, clock_off):
    with clock_off(BEHIND):
        with pytest.raises(PassAskedError) as asked:
            log_pass(HolePass(bore=bore, kind="reaming", diameter_m=0.2, conduits=[]), by=person)
        answered = [one.token for one in asked.value.oddities]
        log_pass(
            HolePass(bore=bore, kind="reaming", diameter_m=0.2, conduits=[]), by=person, confirmed=answered
        )
    assert any("A reaming was watched before this one" in one.sentence for one in asked.value.oddities)
    assert "A reaming is logged that was made after the last watch of one" in missing(bore)[0]


@pytest.mark.parametrize("clock_off", CLOCKS)
def test_a_rod_joined_anew_by_a_clock_that_is_behind_comes_after_a_watch_before_it(bore, person, clock_off):
    rod = DrilledRod.objects.get(bore=bore, number=2)
    withdraw_rods(RodWithdrawal(rod=rod, kind="pull_back", reason="Off line."), by=person)
    watch = see_though_asked(bore, person)
    anew = {"bore": bore, "after": rod.after, "length_m": 20.0, "depth_m": 2.0, "pitch_ratio": 0.0}
    with clock_off(BEHIND):
        with pytest.raises(RodAskedError) as asked:
            log_rod(DrilledRod(**anew), by=person)
        joined = log_rod(DrilledRod(**anew), by=person, confirmed=[one.token for one in asked.value.oddities])
    assert joined.logged_at > watch.watched_at
    assert any("pilot" in words for words in missing(bore))
