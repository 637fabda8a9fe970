"""The band of heights that a rig can still reach, against closed forms and against every way it can steer."""

from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from conflicts.engine.errors import LookAheadError
from conflicts.engine.reach import Head, LevelTurn, Rig, reachable_elevations, reachable_offsets, steered
from tests.engine.steering import LAID_M, Steering, laid, steerings

FOOT_M = 0.3048
ROD_M, RADIUS_M = 3.0, 30.0
RIG = Rig(ROD_M, RADIUS_M)
angles = st.floats(-0.35, 0.35)


def test_from_level_the_highest_way_is_the_arc_of_the_least_radius():
    band = reachable_elevations(Head(-2.0, 0.0), RIG, [0.0, 3.0, 9.0])
    # Circle through the head with its centre R above it: R - sqrt(R^2 - x^2).
    arc = np.array([0.0, 30.0 - np.sqrt(900.0 - 9.0), 30.0 - np.sqrt(900.0 - 81.0)])
    np.testing.assert_allclose(band.highest_m, -2.0 + arc, atol=1e-12)
    np.testing.assert_allclose(band.lowest_m, -2.0 - arc, atol=1e-12)


def test_a_rod_kept_straight_and_then_the_least_radius_level_out_at_the_published_depth():
    # 10 ft rod, 15 degrees, R = 100 ft: 72 in deep and 35.5 ft from the entry, as published; 5.99561 ft by
    # the closed form L sin a + R (1 - cos a), and L cos a + R sin a = 35.5411 ft.
    down = np.radians(15.0)
    rig = Rig(10.0 * FOOT_M, 100.0 * FOOT_M)
    way = steered(Head(0.0, -down), rig, 1, straight_m=10.0 * FOOT_M * np.cos(down))
    level_m = (10.0 * np.cos(down) + 100.0 * np.sin(down)) * FOOT_M
    assert level_m / FOOT_M == pytest.approx(35.5411, abs=1e-4)
    assert way.at(level_m) / FOOT_M == pytest.approx(-5.99561, abs=1e-5)
    around = way.at(np.linspace(0.0, 60.0 * FOOT_M, 4001))
    assert around.min() / FOOT_M == pytest.approx(-5.99561, abs=1e-5)


def test_at_the_steepest_pitch_the_way_goes_on_straight():
    rig = Rig(ROD_M, RADIUS_M, steepest_ratio=0.2)
    steep = np.arctan(0.2)
    arc_run, arc_rise = 30.0 * np.sin(steep), 30.0 * (1.0 - np.cos(steep))
    band = reachable_elevations(Head(0.0, 0.0), rig, [arc_run + 10.0])
    assert band.highest_m[0] == pytest.approx(arc_rise + 2.0, abs=1e-12)


def test_a_head_steeper_than_anybody_steers_is_held_and_not_bent_back_at_once():
    rig = Rig(ROD_M, RADIUS_M, steepest_ratio=0.2)
    band = reachable_elevations(Head(0.0, -np.arctan(0.5)), rig, [10.0])
    assert band.lowest_m[0] == pytest.approx(-5.0, abs=1e-12)


def test_what_the_plan_turns_is_missing_from_the_pitch():
    # A plan turn of 0.6 / R leaves 0.8 / R: the way is that of a rig with R / 0.8.
    turns = (LevelTurn(0.0, 100.0, 0.6 / RADIUS_M),)
    band = reachable_elevations(Head(0.0, 0.1), RIG, [12.0], level_turns=turns)
    wider = reachable_elevations(Head(0.0, 0.1), Rig(ROD_M, RADIUS_M / 0.8), [12.0])
    np.testing.assert_allclose(band.highest_m, wider.highest_m, atol=1e-12)
    # A plan that turns as much as the rig can leaves nothing, a turn that is over takes nothing.
    none_left = reachable_elevations(
        Head(0.0, 0.1), RIG, [12.0], level_turns=(LevelTurn(0.0, 100.0, 2.0 / RADIUS_M),)
    )
    assert none_left.highest_m[0] == pytest.approx(12.0 * np.tan(0.1), abs=1e-12)


def test_a_turn_in_plan_further_on_counts_there_alone():
    way = steered(Head(0.0, 0.0), RIG, 1, level_turns=(LevelTurn(3.0, 6.0, 1.0),))
    # Up to 3 m an arc, to 6 m straight, then an arc again.
    assert way.at(3.0) == pytest.approx(30.0 - np.sqrt(900.0 - 9.0), abs=1e-12)
    slope = 0.1 / np.sqrt(1.0 - 0.01)
    assert way.at(6.0) - way.at(3.0) == pytest.approx(3.0 * slope, abs=1e-12)
    assert np.interp(9.0, way.runs_m, way.sines) == pytest.approx(0.2, abs=1e-12)


def test_every_steering_of_six_rods_lies_in_the_band_and_two_of_them_are_its_edges():
    ends = []
    for shares in product([-1.0, -0.5, 0.0, 0.5, 1.0], repeat=5):
        runs, heights, _plan = laid(
            -3.0, -0.1, RADIUS_M, Steering(tuple((ROD_M, one, 0.0) for one in shares))
        )
        ends.append(np.interp(13.0, runs, heights))
    band = reachable_elevations(Head(-3.0, -0.1), RIG, [13.0])
    assert min(ends) == pytest.approx(band.lowest_m[0], abs=LAID_M)
    assert max(ends) == pytest.approx(band.highest_m[0], abs=LAID_M)


@settings(max_examples=200, deadline=None)
@given(angles, steerings(in_plan=True))
def test_no_way_leaves_the_band_even_one_that_turns_in_plan(angle, steering):
    runs, heights, _plan = laid(-3.0, angle, RADIUS_M, steering)
    band = reachable_elevations(Head(-3.0, angle), RIG, runs)
    assert (heights <= band.highest_m + LAID_M).all()
    assert (heights >= band.lowest_m - LAID_M).all()


@settings(max_examples=100, deadline=None)
@given(angles, st.floats(2.0, 20.0), st.floats(0.0, 1.0))
def test_every_height_in_the_band_is_reached_by_some_way(angle, run_m, share):
    band = reachable_elevations(Head(-3.0, angle), RIG, [run_m])
    wanted = band.lowest_m[0] + share * (band.highest_m[0] - band.lowest_m[0])

    def height(part):
        runs, heights, _plan = laid(-3.0, angle, RADIUS_M, Steering(((3.0, part, 0.0),) * 10))
        assume(runs[-1] > run_m)
        return float(np.interp(run_m, runs, heights))

    low, high = -1.0, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if height(middle) < wanted else (low, middle)
    assert height(low) == pytest.approx(wanted, abs=2.0 * LAID_M)


@settings(max_examples=100, deadline=None)
@given(angles, st.floats(0.0, 0.02), st.floats(-1.0, 1.0), st.floats(1.0, 20.0), st.floats(0.0, 1.0))
def test_a_pitch_read_wrongly_leaves_what_is_reached_whichever_it_is(angle, error, part, run_m, share):
    sure = reachable_elevations(Head(0.0, angle, error), RIG, [run_m])
    assume(sure.lowest_m[0] <= sure.highest_m[0])
    wanted = sure.lowest_m[0] + share * (sure.highest_m[0] - sure.lowest_m[0])
    true = reachable_elevations(Head(0.0, angle + part * error), RIG, [run_m])
    assert true.lowest_m[0] - 1e-12 <= wanted <= true.highest_m[0] + 1e-12


@settings(max_examples=150, deadline=None)
@given(st.floats(-0.3, 0.3), steerings(in_plan=True))
def test_no_level_way_leaves_the_band_in_plan(heading, steering):
    level = Steering(tuple((length, 0.0, right) for length, _up, right in steering.pieces))
    turned = np.concatenate([[0.0], np.cumsum([one[0] * one[2] / RADIUS_M for one in level.pieces])])
    # Headings past 45 degrees are not steered to.
    assume(np.abs(heading + turned).max() < 0.78)
    _runs, _heights, plan = laid(0.0, 0.0, RADIUS_M, level)
    along = plan[:, 1] * np.cos(heading) - plan[:, 0] * np.sin(heading)
    right = plan[:, 0] * np.cos(heading) + plan[:, 1] * np.sin(heading)
    band = reachable_offsets(0.4, heading, 0.0, RIG, along)
    assert (0.4 + right <= band.highest_m + LAID_M).all()
    assert (0.4 + right >= band.lowest_m - LAID_M).all()


@pytest.mark.parametrize(
    "figures", [(np.nan, 30.0), (3.0, 0.0), (0.0, 30.0), (3.0, np.inf), (3.0, 30.0, 0.0), (3.0, 30.0, 1.5)]
)
def test_a_rig_of_which_something_is_unknown_foretells_nothing(figures):
    with pytest.raises(LookAheadError):
        Rig(*figures)


@pytest.mark.parametrize(
    "figures", [(np.nan, 0.0), (0.0, np.nan), (0.0, 0.0, -0.1), (0.0, 0.0, np.nan), (0.0, 1.57, 0.01)]
)
def test_a_head_of_which_something_is_unknown_foretells_nothing(figures):
    with pytest.raises(LookAheadError):
        Head(*figures)
