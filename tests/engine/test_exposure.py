"""Whether test holes expose a crossing, and where the next one is wanted."""

import numpy as np
import pytest

from conflicts.engine.exposure import point_along
from tests.engine.cases import Case, Hole, ask

CROSSING = Case(reach_m=0.6)
BESIDE = Case(mark_m=((0.0, 0.7), (40.0, 0.7)), spacing_m=10.0)


def exposed(case):
    (found,) = ask(case).exposures
    return found


@pytest.mark.parametrize(("north_m", "is_exposed"), [(0.0, True), (0.6, True), (0.61, False), (-0.6, True)])
def test_a_hole_within_reach_of_the_crossing_point_exposes_it(north_m, is_exposed):
    found = exposed(CROSSING.but(holes=(Hole(20.0, north_m, -1.0),)))
    assert found.is_exposed == is_exposed
    assert found.holes == ((0,) if is_exposed else ())


def test_reach_is_measured_in_plan_from_the_line_as_the_hole_moved_it():
    # The hole pulls the line 0.5 m along the bore, and the crossing with it.
    answer = ask(CROSSING.but(holes=(Hole(20.5, 0.0, -1.0),)))
    assert answer.found[0].station_m == pytest.approx(20.5)
    assert answer.exposures[0].is_exposed


def test_without_a_hole_the_crossing_point_itself_is_to_be_dug():
    answer = ask(CROSSING)
    assert not answer.exposures[0].is_exposed
    dig = point_along(answer.line, answer.exposures[0].dig_along_m)
    assert dig == pytest.approx((20.0, 0.0))


def test_for_a_line_alongside_the_point_nearest_to_the_bore_counts():
    slanting = Case(mark_m=((0.0, 0.4), (40.0, 0.7)), spacing_m=100.0)
    assert exposed(slanting.but(holes=(Hole(0.2, 0.4015, -2.0),))).is_exposed
    assert not exposed(slanting.but(holes=(Hole(30.0, 0.625, -2.0),))).is_exposed


@pytest.mark.parametrize("noise_m", [0.0, 0.0005, -0.0005])
@pytest.mark.parametrize("east_m", [3.0, 20.0, 37.0])
def test_beside_a_parallel_line_a_hole_at_any_of_the_equally_near_points_counts(east_m, noise_m):
    parallel = Case(mark_m=((0.0, 0.7), (40.0, 0.7 + noise_m)), spacing_m=100.0)
    hole = Hole(east_m, 0.7 + noise_m * east_m / 40.0, -2.0)
    found = exposed(parallel.but(holes=(hole,)))
    assert (found.is_exposed, found.holes, found.dig_along_m) == (True, (0,), None)


@pytest.mark.parametrize(
    ("easts_m", "dig_east_m"),
    [
        ((5.0, 15.0, 20.0, 25.0, 35.0), None),
        ((5.0, 15.0, 20.0, 25.0, 34.9), 40.0),
        ((5.0, 20.0, 30.0, 35.0), 12.5),
        ((20.0,), 0.0),
    ],
)
def test_a_long_stretch_wants_a_hole_within_half_of_the_spacing_rule_of_every_point(easts_m, dig_east_m):
    answer = ask(BESIDE.but(holes=tuple(Hole(east, 0.7, -2.0) for east in easts_m)))
    (found,) = answer.exposures
    assert found.is_exposed == (dig_east_m is None)
    if dig_east_m is not None:
        assert point_along(answer.line, found.dig_along_m) == pytest.approx((dig_east_m, 0.7), abs=1e-6)


def test_a_stretch_no_longer_than_the_spacing_rule_needs_one_hole_only():
    short = BESIDE.but(mark_m=((15.0, 0.7), (25.0, 0.7)), holes=(Hole(20.0, 0.7, -2.0),))
    assert exposed(short).is_exposed
    longer = short.but(mark_m=((14.9, 0.7), (25.0, 0.7)))
    # 10.1 m are longer than the rule; its west end lies 5.1 m from the hole, more than half of it.
    assert not exposed(longer).is_exposed


def test_a_crossing_with_no_reach_is_exposed_by_a_hole_on_the_very_point():
    found = exposed(CROSSING.but(reach_m=0.0, holes=(Hole(20.0, 0.0, -1.0),)))
    assert found.is_exposed
    assert np.isfinite(ask(CROSSING.but(reach_m=0.0, holes=(Hole(20.0, 0.0, -1.0),))).found[0].worst_case_m)
