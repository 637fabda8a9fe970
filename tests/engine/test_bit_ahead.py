"""The bit is ahead of the antenna: every way goes on straight to it, by closed forms and by laid ways."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from conflicts.engine.corridor_ahead import Ahead, Passing
from conflicts.engine.errors import LookAheadError
from conflicts.engine.joint_ahead import can_pass_all, look_ahead_together
from conflicts.engine.lookahead import Joint, LineAhead, Side, beginning, look_ahead
from conflicts.engine.profile_limits import ForbiddenBand
from conflicts.engine.reach import Head, LevelTurn, Rig, reachable_elevations, steered
from tests.engine.steering import LAID_M, Steering, laid, steerings

ROD_M, RADIUS_M, LEAD_M = 3.0, 30.0, 0.9144
AT_THE_BIT = Rig(ROD_M, RADIUS_M)
RIG = replace(AT_THE_BIT, bit_lead_m=LEAD_M)
LEVEL = Head(-3.0, 0.0)
angles = st.floats(-0.3, 0.3)
leads = st.floats(0.0, 2.5)


def passing(run_m, edge_m, side, half_m=0.5) -> Passing:
    """A line that asks for an elevation on one side of an edge, half so long as told to either side."""
    band = ForbiddenBand("line", run_m - half_m, run_m + half_m, edge_m, edge_m)
    return Passing(LineAhead(band, run_m, True, side), side)


def led(lead_m, steering) -> Steering:
    """A steering that begins at the bit."""
    return Steering(((lead_m, 0.0, 0.0), *steering.pieces))


def with_lead(lead_m) -> Rig:
    return replace(AT_THE_BIT, bit_lead_m=lead_m)


def at_bit(angle, lead_m) -> Head:
    return Head(-3.0 + lead_m * np.sin(angle), angle)


def test_from_level_the_band_is_the_arc_of_the_least_radius_from_the_bit_on():
    runs = np.array([0.0, 0.5, 6.0, 9.0, 12.0])
    band = reachable_elevations(LEVEL, RIG, runs)
    past_bit = np.maximum(0.0, runs - LEAD_M)
    arc = RADIUS_M - np.sqrt(RADIUS_M**2 - past_bit**2)
    np.testing.assert_allclose(band.highest_m, -3.0 + arc, atol=1e-12)
    np.testing.assert_allclose(band.lowest_m, -3.0 - arc, atol=1e-12)
    # From the antenna it would come out higher by 0.17, 0.27 and 0.38 m.
    too_high = reachable_elevations(LEVEL, AT_THE_BIT, runs[2:]).highest_m - band.highest_m[2:]
    np.testing.assert_allclose(too_high, [0.172, 0.272, 0.381], atol=1e-3)


def test_the_last_rod_to_begin_is_counted_from_the_bit():
    # The arc must rise 0.5 m by 12 m, for which x = sqrt(0.5 (60 - 0.5)) = 5.454 m of steering is asked: with
    # the bit 0.9144 m ahead 5.63 m can be held, one rod of 3 m; from the antenna it would be two.
    line = passing(12.5, -2.5, Side.OVER).line
    assert look_ahead(LEVEL, AT_THE_BIT, [line])[0].aim.straight_rods == 2
    assert look_ahead(LEVEL, RIG, [line])[0].aim.straight_rods == 1
    assert look_ahead_together(Ahead(LEVEL, AT_THE_BIT), [line]).straight_rods == 2
    assert look_ahead_together(Ahead(LEVEL, RIG), [line]).straight_rods == 1


def test_rods_to_a_line_are_counted_from_the_bit():
    told = [
        look_ahead(LEVEL, RIG, [passing(at, -1.0, Side.UNDER).line])[0].rods_to_it
        for at in (0.6, LEAD_M, LEAD_M + 0.1, LEAD_M + ROD_M, LEAD_M + ROD_M + 0.1)
    ]
    assert told == [0, 0, 1, 1, 2]


def test_a_line_between_antenna_and_bit_is_passed_as_it_is_drilled_or_not_at_all():
    rig = with_lead(2.0)
    for edge_m, is_met in ((-3.001, True), (-2.999, False)):
        one = passing(1.0, edge_m, Side.OVER)
        found = look_ahead(LEVEL, rig, [one.line])[0]
        assert found.aim.can_be_met is is_met
        assert can_pass_all(Ahead(LEVEL, rig), [one]) is is_met
        assert found.lowest_m == found.highest_m == -3.0


def test_every_steering_of_four_rods_lies_in_the_band_and_two_of_them_are_its_edges():
    ends = []
    for shares in product([-1.0, -0.5, 0.0, 0.5, 1.0], repeat=4):
        steering = led(LEAD_M, Steering(tuple((ROD_M, one, 0.0) for one in shares)))
        runs, heights, _plan = laid(-3.0, -0.1, RADIUS_M, steering)
        ends.append(np.interp(11.5, runs, heights))
    band = reachable_elevations(Head(-3.0, -0.1), RIG, [11.5])
    assert min(ends) == pytest.approx(band.lowest_m[0], abs=LAID_M)
    assert max(ends) == pytest.approx(band.highest_m[0], abs=LAID_M)


@settings(max_examples=150, deadline=None)
@given(angles, leads, steerings(in_plan=True))
def test_no_way_from_the_bit_leaves_the_band(angle, lead_m, steering):
    runs, heights, _plan = laid(-3.0, angle, RADIUS_M, led(lead_m, steering))
    band = reachable_elevations(Head(-3.0, angle), with_lead(lead_m), runs)
    assert (heights <= band.highest_m + LAID_M).all()
    assert (heights >= band.lowest_m - LAID_M).all()


@settings(max_examples=150, deadline=None)
@given(angles, leads, st.floats(0.0, 12.0), st.floats(0.0, 20.0), st.sampled_from([1, -1]))
def test_a_way_is_that_of_a_head_at_the_bit(angle, lead_m, straight_m, run_m, upward):
    bit_run_m = lead_m * np.cos(angle)
    turns = (LevelTurn(4.0, 7.0, 0.5 / RADIUS_M),)
    moved = (LevelTurn(4.0 - bit_run_m, 7.0 - bit_run_m, 0.5 / RADIUS_M),)
    from_antenna = steered(
        Head(-3.0, angle), with_lead(lead_m), upward, straight_m=straight_m, level_turns=turns
    )
    from_bit = steered(at_bit(angle, lead_m), AT_THE_BIT, upward, straight_m=straight_m, level_turns=moved)
    assert from_antenna.at(bit_run_m + run_m) == pytest.approx(float(from_bit.at(run_m)), abs=1e-9)
    assert from_antenna.at(0.5 * bit_run_m) == pytest.approx(-3.0 + 0.5 * lead_m * np.sin(angle), abs=1e-9)


@settings(max_examples=150, deadline=None)
@given(angles, leads, steerings(), st.floats(0.6, 12.0), st.floats(-6.0, 0.0), st.sampled_from(Side))
def test_no_steering_from_the_bit_passes_where_none_is_said_to(angle, lead_m, steering, run_m, edge_m, side):
    runs, heights, _plan = laid(-3.0, angle, RADIUS_M, led(lead_m, steering))
    assume(runs[-1] >= run_m + 0.5)
    one = passing(run_m, edge_m, side)
    at = np.interp(np.linspace(run_m - 0.5, run_m + 0.5, 60), runs, heights) - side.upward * LAID_M
    if (side.upward * (at - edge_m) >= 0.0).all():
        head, rig = Head(-3.0, angle), with_lead(lead_m)
        assert beginning(Joint(head, one.line), rig, side).can_be_met
        assert can_pass_all(Ahead(head, rig), [one])


@settings(max_examples=100, deadline=None)
@given(angles, leads, st.floats(6.0, 25.0), st.floats(0.02, 1.5), st.sampled_from(Side), st.booleans())
def test_a_crew_that_begins_with_the_last_rod_told_is_stopped_by_no_later_reading(
    angle, lead_m, run_m, off_m, side, has_error
):
    """The hole turns from where the bit was as that rod began: the antenna reads less of it at first."""
    rig, error_rad = with_lead(lead_m), 0.005 if has_error else 0.0
    edge_m = -3.0 + run_m * np.tan(angle) + side.upward * off_m

    def seen_at(drilled_m, straight_m):
        turned_m = max(0.0, drilled_m - straight_m)
        pieces = ((drilled_m - turned_m, 0.0, 0.0), (turned_m, float(side.upward), 0.0))
        steering = Steering(tuple(one for one in pieces if one[0] > 0.0))
        if not steering.pieces:
            return Head(-3.0, angle, error_rad), run_m
        runs, heights, _plan = laid(-3.0, angle, RADIUS_M, steering)
        pitch = angle + side.upward * turned_m / RADIUS_M
        return Head(float(heights[-1]), pitch, error_rad), run_m - runs[-1]

    line = passing(run_m, edge_m, side).line
    held = beginning(Joint(Head(-3.0, angle, error_rad), line), rig, side).straight_rods
    # With none left to hold, the head may be past the last rod that would have been told.
    assume(held is not None and held > 0)
    straight_m, rods = held * ROD_M + lead_m, 0
    while True:
        head, left_m = seen_at(rods * ROD_M, straight_m)
        if left_m <= 0.6 or abs(head.angle_rad) > 0.7:
            break
        one = passing(left_m, edge_m, side)
        found = beginning(Joint(head, one.line), rig, side)
        assert found.can_be_met, rods
        assert can_pass_all(Ahead(head, rig), [one]), rods
        rods += 1


@settings(max_examples=60, deadline=None)
@given(
    angles,
    leads,
    st.lists(
        st.tuples(st.floats(3.2, 16.0), st.floats(-0.8, 0.8), st.sampled_from(Side)), min_size=1, max_size=3
    ),
)
def test_lines_past_the_bit_are_passed_as_from_a_head_at_the_bit(angle, lead_m, asked):
    bit_run_m = lead_m * np.cos(angle)

    def passings(eased_m, from_m):
        return [
            passing(run - from_m, -3.0 + run * np.tan(angle) + off - eased_m * side.upward, side)
            for run, off, side in sorted(asked, key=lambda one: one[0])
        ]

    ahead = Ahead(Head(-3.0, angle), with_lead(lead_m))
    moved = Ahead(at_bit(angle, lead_m), AT_THE_BIT)
    # Sampled at other places, both are sure to 3 mm.
    if can_pass_all(moved, passings(0.0, bit_run_m)):
        assert can_pass_all(ahead, passings(0.003, 0.0))
    if can_pass_all(ahead, passings(0.0, 0.0)):
        assert can_pass_all(moved, passings(0.003, bit_run_m))
    found = look_ahead_together(ahead, [one.line for one in passings(0.0, 0.0)])
    if found.clash is None and found.straight_rods is not None:
        same = look_ahead_together(moved, [one.line for one in passings(0.003, bit_run_m)])
        assert same.clash is None
        assert same.straight_rods is None or same.straight_rods >= found.straight_rods


@pytest.mark.parametrize("lead_m", [-0.1, np.nan, np.inf])
def test_a_lead_that_no_bit_has_foretells_nothing(lead_m):
    with pytest.raises(LookAheadError):
        Rig(ROD_M, RADIUS_M, bit_lead_m=lead_m)
