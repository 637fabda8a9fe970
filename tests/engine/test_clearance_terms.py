"""What each figure of a crossing is made of: its terms add up, and are those of the brute-force reading.

Tolerance 1e-6 m, the project's own, unless said.
"""

import numpy as np
import pytest
from hypothesis import assume, given, settings

from conflicts.engine.verdict import Verdict, verdict, verdict_steps
from tests.engine.cases import Case, Hole, ask, cases
from tests.engine.oracle import Oracle, nearest

SAME_M = 1e-6


@settings(max_examples=60, deadline=None)
@given(cases())
def test_the_worst_case_is_its_distance_less_the_radii_and_the_shares_of_the_errors(case):
    for one in ask(case).found:
        worst = one.worst
        if worst is None:
            assert one.worst_case_m is None
            assert not case.holes
            continue
        radii_m = one.sizes.bore_radius_m + one.sizes.line_radius_m
        assert worst.centre_distance_m - radii_m - worst.loss_m == pytest.approx(one.worst_case_m, abs=SAME_M)
        if worst.centre_distance_m > SAME_M:
            level_m = (worst.bore_horizontal_m + worst.line_horizontal_m) * worst.level_share
            plumb_m = (worst.bore_vertical_m + worst.line_vertical_m) * worst.plumb_share
            assert worst.loss_m == pytest.approx(level_m + plumb_m, abs=SAME_M)
            squares = (worst.bore_horizontal_m**2 + worst.line_horizontal_m**2) * worst.level_share**2
            squares += (worst.bore_vertical_m**2 + worst.line_vertical_m**2) * worst.plumb_share**2
            likely_m = worst.centre_distance_m - radii_m - np.sqrt(squares)
            assert likely_m == pytest.approx(one.likely_m, abs=SAME_M)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_the_worst_point_and_its_terms_are_those_of_the_oracle(case):
    assume(case.holes)
    oracle, answer = Oracle(case), ask(case)
    assume(answer.found)
    for one in answer.found:
        worst = one.worst
        station = np.array([worst.station_m])
        assert one.from_m - SAME_M <= worst.station_m <= one.to_m + SAME_M
        assert worst.bore_point_m == pytest.approx(oracle.bore.at(station)[0], abs=SAME_M)
        vectors, _ = nearest(oracle.bore.at(station), oracle.line.points_m, oracle.line.along_m)
        distance_m = np.linalg.norm(vectors[0])
        assert worst.centre_distance_m == pytest.approx(distance_m, abs=SAME_M)
        between_m = worst.line_point_m - worst.bore_point_m
        assert np.linalg.norm(between_m) == pytest.approx(distance_m, abs=SAME_M)
        if distance_m > 0.01:
            level = np.hypot(between_m[0], between_m[1]) / distance_m
            # The shares come from the squares of lengths: a level one near 0 keeps half of the digits.
            assert worst.level_share == pytest.approx(level, abs=1e-5)
            assert worst.plumb_share == pytest.approx(abs(between_m[2]) / distance_m, abs=1e-5)
        away = np.abs(oracle.line.hole_along_m - worst.line_along_m)
        assert worst.hole_away_m == pytest.approx(away.min(), abs=SAME_M)
        expected_m = worst.hole_error_m + case.slope_ratio * worst.hole_away_m
        assert worst.line_vertical_m == pytest.approx(expected_m, abs=SAME_M)
        beyond_m = case.tolerance_m if case.accuracy_m is None else case.accuracy_m
        assert worst.line_horizontal_m == (worst.hole_error_m if worst.hole_is_in_reach else beyond_m)
        assert worst.hole_error_m == case.holes[worst.hole].error_m


@settings(max_examples=40, deadline=None)
@given(cases())
def test_the_figures_in_plan_height_and_space_are_their_distances_less_the_sizes(case):
    for one in ask(case).found:
        sizes, meeting = one.sizes, one.meeting
        plan_m = meeting.plan_distance_m - sizes.bore_radius_m - sizes.line_plan_radius_m
        assert one.horizontal_m == pytest.approx(max(0.0, plan_m), abs=SAME_M)
        if meeting.line_elevation_m is None:
            assert one.nearest is None
            continue
        rise_m = abs(meeting.bore_elevation_m - meeting.line_elevation_m)
        edges_m = rise_m - sizes.bore_radius_m - sizes.line_half_height_m
        assert one.vertical_m == pytest.approx(edges_m, abs=SAME_M)
        space_m = one.nearest.centre_distance_m - sizes.bore_radius_m - sizes.line_radius_m
        assert one.separation_m == pytest.approx(space_m, abs=SAME_M)


def test_a_square_crossing_by_hand():
    # Hole 0.25 m wide at -3, line 0.2 m wide with its top at -1.9: centres 1 m apart, straight up. With no
    # level error the worst point is the nearest one.
    [one] = ask(Case(holes=(Hole(20.0, 0.0, -1.9, 0.0),), bore_horizontal_m=0.0)).found
    worst = one.worst
    assert worst.station_m == pytest.approx(20.0, abs=1e-3)
    assert worst.bore_point_m == pytest.approx([20.0, 0.0, -3.0], abs=1e-3)
    assert worst.line_point_m == pytest.approx([20.0, 0.0, -2.0], abs=1e-3)
    assert np.abs(worst.line_direction) == pytest.approx([0.0, 1.0])
    assert (worst.level_share, worst.plumb_share) == (pytest.approx(0.0, abs=1e-3), pytest.approx(1.0))
    assert (worst.line_horizontal_m, worst.line_vertical_m) == (0.0, pytest.approx(0.0, abs=1e-4))
    assert worst.loss_m == pytest.approx(0.15, abs=1e-4)
    assert one.worst_case_m == pytest.approx(1.0 - 0.125 - 0.1 - 0.15, abs=1e-4)


def test_a_level_error_moves_the_worst_point_aside():
    # Seen at a tilt b the distance is 1 / cos b and the loss 0.33 sin b + 0.18 cos b.
    [one] = ask(Case(holes=(Hole(20.0, 0.0, -1.9, 0.03),))).found
    tilts = np.linspace(0.0, 1.0, 100_001)
    left_m = 1.0 / np.cos(tilts) - 0.225 - 0.33 * np.sin(tilts) - 0.18 * np.cos(tilts)
    assert one.worst_case_m == pytest.approx(left_m.min(), abs=1e-6)
    assert one.worst.level_share == pytest.approx(np.sin(tilts[left_m.argmin()]), abs=1e-4)


def test_a_hole_beyond_the_reach_leaves_the_accuracy_of_the_paint_and_the_slope():
    [one] = ask(Case(holes=(Hole(20.0, 5.0, -1.9, 0.03),))).found
    assert one.worst.line_horizontal_m == 0.6
    assert not one.worst.hole_is_in_reach
    assert one.worst.hole_away_m == pytest.approx(5.0, abs=1e-3)
    assert one.worst.line_vertical_m == pytest.approx(0.03 + 0.01 * 5.0, abs=1e-4)


def test_exposure_says_how_far_every_hole_is_and_how_the_spacing_rule_came_out():
    holes = (Hole(5.0, 0.3, -1.0), Hole(35.0, 0.3, -1.0))
    case = Case(mark_m=((0.0, 0.3), (40.0, 0.3)), holes=holes, spacing_m=20.0, reach_m=16.0)
    answer = ask(case)
    [exposed] = answer.exposures
    [one] = answer.found
    expected = [np.hypot(hole.east_m - one.point_m[0], hole.north_m - one.point_m[1]) for hole in holes]
    assert exposed.away_m == pytest.approx(expected)
    assert exposed.stretch_m == pytest.approx(40.0)
    # Half-way between the holes no hole is nearer than 15 m, and half of the rule is 10 m.
    assert exposed.farthest_m == pytest.approx(15.0)
    assert not exposed.is_exposed
    assert ask(case.but(spacing_m=30.0)).exposures[0].is_exposed


def test_without_a_hole_nothing_is_said_of_a_distance_to_one():
    [exposed] = ask(Case()).exposures
    assert (exposed.away_m, exposed.farthest_m, exposed.holes) == ((), None, ())


@pytest.mark.parametrize(
    ("figures", "fitting"),
    [
        ({"separation_m": -0.1, "worst_case_m": -0.4}, [Verdict.OVERLAP, Verdict.SHORT, Verdict.CLEAR]),
        ({"separation_m": None, "worst_case_m": None}, [Verdict.SHORT, Verdict.CLEAR]),
        ({"is_exposed": False}, [Verdict.UNEXPOSED, Verdict.CLEAR]),
        ({"is_stale": True}, [Verdict.STALE, Verdict.CLEAR]),
        ({}, [Verdict.CLEAR]),
    ],
)
def test_every_verdict_is_asked_in_its_order_and_the_first_that_fits_is_given(figures, fitting):
    settled = {"separation_m": 0.9, "worst_case_m": 0.5, "required_m": 0.3}
    case = {**settled, "is_exposed": True, "is_stale": False, **figures}
    steps = verdict_steps(**case)
    assert [one for one, _ in steps] == list(Verdict)
    assert [one for one, fits in steps if fits] == fitting
    assert verdict(**case) == fitting[0]
