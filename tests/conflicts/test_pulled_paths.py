"""Which paths the pull is estimated by: the hole alone only once it comes out at the exit."""

from dataclasses import replace

import numpy as np
import pytest
from django.utils import timezone

from conflicts.as_drilled import as_drilled
from conflicts.models import Bore
from conflicts.plan_end import PLAN_ENDS
from conflicts.pulled_paths import AS_DRILLED, AS_PLANNED, ON_AS_PLANNED, SO_FAR, pulled_paths
from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import DOWN, ROD_M, assessed_of, log_of, sheet_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# Down to 1.98 m, level past M, and up again at the exit: the plan ends at the ground at station 100.
LEVEL = (0.0,) * 20
UP = (0.1,) * 7


@pytest.fixture
def bore():
    return bore_of_today()


def paths_by(bore, log):
    scene = assessed_of(bore).scene
    return pulled_paths(scene, log, as_drilled(scene, log, timezone.now()).path)


def words_by(bore, log):
    return [one.words for one in paths_by(bore, log)]


def aside(log, right_m):
    """The same rods, the last dot so far to the south of an alignment to the east."""
    run_m = sum(ROD_M / np.hypot(1.0, rod.pitch_ratio) for rod in log.rods)
    moved = replace(log.rods[-1], dot=factories.point(run_m, -right_m).coords)
    return replace(log, rods=(*log.rods[:-1], moved))


def test_before_any_rod_the_plan_alone_counts(bore):
    assert words_by(bore, None) == [AS_PLANNED]


def test_before_the_exit_the_hole_is_led_back_to_the_plan(bore):
    assert words_by(bore, log_of(*DOWN, *LEVEL)) == [AS_PLANNED, ON_AS_PLANNED]


def test_a_hole_that_comes_out_at_the_exit_counts_alone(bore):
    log = log_of(*DOWN, *LEVEL, *UP)
    [path] = paths_by(bore, log)
    assert path.words == AS_DRILLED
    # The antenna has come to station 100; the bit, 3 ft ahead of it, is out of the ground and in no hole.
    run_m = sum(rod.length_m / np.hypot(1.0, rod.pitch_ratio) for rod in log.rods)
    assert path.path.length_m == pytest.approx(run_m, abs=0.05)
    assert path.path.points_m[-1, 2] == pytest.approx(0.0, abs=0.1)


def test_a_hole_that_passes_under_the_exit_does_not_count_alone(bore):
    log = log_of(*DOWN, *(0.0,) * 27)
    planned, hole = paths_by(bore, log)
    assert (planned.words, hole.words) == (AS_PLANNED, SO_FAR)
    assert hole.path.points_m[-1, 2] == pytest.approx(-1.98, abs=0.1)
    # It goes on to the bit and turns nowhere back to the planned end.
    assert (np.diff(hole.path.points_m[:, 0]) > 0.0).all()
    assert PLAN_ENDS in [one.when for one in sheet_of(bore, log).stops]


@pytest.mark.parametrize(("right_m", "alone"), [(0.15, True), (0.6, False), (-0.6, False)])
def test_a_hole_that_passes_beside_the_exit_does_not_count_alone(bore, right_m, alone):
    # 15 cm of steering and 5 cm that the job states at the surface are allowed.
    log = aside(log_of(*DOWN, *LEVEL, *UP), right_m)
    assert words_by(bore, log) == ([AS_DRILLED] if alone else [AS_PLANNED, SO_FAR])


def test_a_hole_a_rod_past_an_exit_below_the_ground_does_not_count_alone(bore):
    Bore.objects.filter(pk=bore.pk).update(
        profile_stations_m=[0.0, 20.0, bore.alignment_length_m], profile_values_m=[0.0, 2.0, 2.0]
    )
    there, beyond = (log_of(*DOWN, *(0.0,) * rods) for rods in (27, 29))
    assert words_by(bore, there) == [AS_DRILLED]
    assert words_by(bore, beyond) == [AS_PLANNED, SO_FAR]


def test_a_head_that_points_back_at_the_exit_does_not_count_alone(bore):
    log = log_of(*DOWN, *LEVEL, *UP)
    turned = replace(log.rods[-1], heading_rad=np.pi)
    assert AS_DRILLED not in words_by(bore, replace(log, rods=(*log.rods[:-1], turned)))
