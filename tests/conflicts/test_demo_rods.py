"""The finished job of the demo tells its pilot rod by rod; nothing contradicts what else was signed."""

from datetime import UTC, datetime
from itertools import pairwise

import pytest

from conflicts.demo.load import WRITTEN_FOR, load_demo_jobs
from conflicts.desk.log_rod import scene_of
from conflicts.drilled import drilled_crossings, drilled_path
from conflicts.gather_rods import gather_rods
from conflicts.models import Bore, CrossingWatch, PassMade
from conflicts.rod_oddities import oddities

pytestmark = pytest.mark.django_db

DRILLING_DAY = datetime(2026, 4, 21, 15, 0, tzinfo=UTC)
ROD_M = 3.0


@pytest.fixture
def pilot():
    """The finished bore as it was planned, and the log of its rods."""
    load_demo_jobs(WRITTEN_FOR)
    bore = Bore.objects.select_related("job__jurisdiction").get(name="Loop run")
    return scene_of(bore).scene, gather_rods([bore])[bore.pk]


def test_every_rod_is_logged_with_two_pulled_back_and_the_device_checked_first(pilot):
    _, log = pilot
    assert [rod.number for rod in log.rods] == list(range(1, 22))
    (leg,) = log.legs
    assert [rod.number for rod in leg.rods] == [9, 10]
    assert log.rods[7].logged_at < leg.rods[0].logged_at < leg.withdrawal.withdrawn_at < log.rods[8].logged_at
    (check,) = log.checks
    assert check.checked_at < log.rods[0].logged_at


def test_the_pilot_ended_at_the_exit_and_passed_every_line_by_more_than_is_required(pilot):
    scene, log = pilot
    drilled = drilled_path(scene, log)
    assert drilled.head.station_m == pytest.approx(scene.path.length_m, abs=0.05)
    assert max(abs(joint.deeper_m) for joint in drilled.joints) < 0.05
    passed = drilled_crossings(scene, drilled, DRILLING_DAY)
    assert [one.crossing.mark.ref for one in passed] == ["G1", "W1", "E1", "C1", "S1", "R1"]
    assert not any(one.stops for one in passed)


def test_the_hole_was_reamed_as_planned_and_the_conduit_pulled_in_before_the_close_out(pilot):
    scene, _ = pilot
    log = scene.inputs.site.passes
    assert (log.state, scene.inputs.wider) == ("pulled back", None)
    (reaming, pullback) = log.passes
    assert reaming.confirmed == ()
    # 110 mm in 6 in: tighter than usual, asked about and kept.
    assert "1.39 times" in pullback.confirmed[0]
    for one in (reaming, pullback):
        # Each was logged once it was through, from the moment at which it began.
        watched = [it.watched_at for it in scene.inputs.site.watches if it.pass_made == one.kind]
        assert one.made_at < min(watched)
        assert max(watched) < one.logged_at
    assert reaming.logged_at < pullback.made_at
    assert pullback.logged_at < scene.inputs.site.closed_out_at


def test_nothing_would_have_been_asked_about_any_rod(pilot):
    scene, log = pilot
    for chain in (log.rods, (*log.legs[0].before, *log.legs[0].rods)):
        paths = [drilled_path(scene, log, chain[:count]) for count in range(len(chain) + 1)]
        assert [oddities(scene, log, before, after) for before, after in pairwise(paths)] == [()] * len(chain)


def test_each_line_was_watched_while_its_rod_was_drilled(pilot):
    scene, log = pilot
    drilled = drilled_path(scene, log)
    watches = CrossingWatch.objects.filter(bore__name="Loop run", pass_made=PassMade.PILOT)
    assert watches.count() == 6
    for watch in watches:
        behind = [joint for joint in drilled.joints if joint.rod.logged_at <= watch.watched_at]
        assert abs(behind[-1].station_m - watch.station_m) <= ROD_M
