"""Whether one way passes all lines ahead, by a closed form, laid ways, and every steering of a few rods."""

from functools import cache
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from conflicts.engine.corridor_ahead import SLACK_M, Ahead, Passing
from conflicts.engine.joint_ahead import can_pass_all, clash_of, look_ahead_together
from conflicts.engine.lookahead import Joint, LineAhead, Side, beginning
from conflicts.engine.next_pitch import SURE_M, pitch_for_rod
from conflicts.engine.path import Ground
from conflicts.engine.profile_limits import ForbiddenBand
from conflicts.engine.profile_lines import BLOCKED_M, UnknownDepth
from conflicts.engine.reach import Head, LevelTurn, Rig
from tests.engine.steering import LAID_M, Steering, laid, steerings

ROD_M, RADIUS_M = 3.0, 30.0
RIG = Rig(ROD_M, RADIUS_M)
LEVEL = Ahead(Head(-3.0, 0.0), RIG)
OVER, UNDER = Side.OVER, Side.UNDER
# Of one place: a line that asks for an elevation there and nowhere else.
POINT_M = 1e-6
angles = st.floats(-0.3, 0.3)


def asking(run_m, edge_m, side, half_m=POINT_M) -> Passing:
    """A line that asks for an elevation of a side's edge, half so long as told to either side."""
    band = ForbiddenBand("line", run_m - half_m, run_m + half_m, edge_m, edge_m)
    return Passing(LineAhead(band, run_m, True, side), side)


def lines_of(*passings) -> list[LineAhead]:
    return [one.line for one in passings]


def highest_then_lowest_m(over_run_m, under_run_m):
    """The lowest elevation at a place of a level head's ways that are at -3 + h or above at one before it.

    The way steers up for a run s and then down: with R the radius it is at the first place, x, at
    R - sqrt(R^2 - s^2) - (R - sqrt(R^2 - (x - 2 s)^2) - (R - sqrt(R^2 - s^2))), as circles have it; the s
    with which that is h comes from halving, and the second place follows from the same circle.
    """

    def bow(run):
        return RADIUS_M - np.sqrt(RADIUS_M**2 - run * run)

    def at(run, steered):
        # Sine of the pitch: run / R while it rises, then (2 s - run) / R.
        return bow(run) if run <= steered else 2.0 * bow(steered) - bow(2.0 * steered - run)

    def lowest(h):
        low, high = 0.0, over_run_m
        for _ in range(80):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if at(over_run_m, middle) >= h else (middle, high)
        return -3.0 + at(under_run_m, high)

    return lowest


def test_over_one_line_and_then_under_the_next_is_the_closed_form():
    # Up by 0.30 m at 6 m, then as low as can be at 15 m.
    lowest_m = highest_then_lowest_m(6.0, 15.0)(0.30)
    first = asking(6.0, -2.70, OVER)
    assert can_pass_all(LEVEL, [first, asking(15.0, lowest_m + 0.002, UNDER)])
    assert not can_pass_all(LEVEL, [first, asking(15.0, lowest_m - 0.002, UNDER)])
    # Each of them alone is easy.
    alone = asking(15.0, lowest_m - 0.002, UNDER)
    assert can_pass_all(LEVEL, [alone])
    assert can_pass_all(LEVEL, [first])


@settings(max_examples=60, deadline=None)
@given(st.floats(3.0, 9.0), st.floats(2.0, 9.0), st.floats(0.05, 0.95))
def test_two_lines_anywhere_are_the_closed_form(run_m, apart_m, share):
    # Up to what can be reached at all at the first line.
    h = share * (RADIUS_M - np.sqrt(RADIUS_M**2 - run_m**2))
    lowest_m = highest_then_lowest_m(run_m, run_m + apart_m)(h)
    first = asking(run_m, -3.0 + h, OVER)
    assert can_pass_all(LEVEL, [first, asking(run_m + apart_m, lowest_m + 0.003, UNDER)])
    assert not can_pass_all(LEVEL, [first, asking(run_m + apart_m, lowest_m - 0.003, UNDER)])


def test_two_that_cannot_both_be_met_are_named_with_what_lacks():
    lowest_m = highest_then_lowest_m(6.0, 15.0)(0.30)
    free = asking(2.0, -4.0, OVER)
    found = look_ahead_together(
        LEVEL,
        lines_of(
            free, asking(6.0, -2.70, OVER), asking(15.0, lowest_m - 0.25, UNDER), asking(18.0, -3.0, OVER)
        ),
    )
    assert found.clash.places == (1, 2)
    assert found.clash.lacking_m == pytest.approx(0.25, abs=0.003)
    assert found.straight_rods is None


def test_three_of_which_any_two_can_be_met_are_told_together():
    # Over, under, over: each pair goes, for the third may be reached from either of the others.
    three = [asking(6.0, -2.7, OVER), asking(10.0, -2.85, UNDER), asking(14.0, -2.2, OVER)]
    for left_out in range(3):
        assert can_pass_all(LEVEL, [one for place, one in enumerate(three) if place != left_out])
    assert clash_of(LEVEL, three).places == (0, 1, 2)


def test_an_unknown_depth_is_never_a_yes():
    unknown = LineAhead(
        UnknownDepth("line", 5.0, 6.0, Ground(np.empty(0), np.empty(0)), BLOCKED_M), 5.5, False, None
    )
    found = look_ahead_together(LEVEL, [asking(2.0, -4.0, OVER).line, unknown])
    assert found.clash.places == (1,)


def test_without_a_line_ahead_nothing_is_asked_for():
    found = look_ahead_together(LEVEL, [])
    assert (found.clash, found.straight_rods, found.sides) == (None, None, ())


def test_a_line_without_a_planned_side_is_passed_on_the_one_that_goes_with_the_others():
    first = asking(6.0, -2.70, OVER)
    band = ForbiddenBand("line", 8.9, 9.1, -3.2, -2.75)
    found = look_ahead_together(LEVEL, [first.line, LineAhead(band, 9.0, True, None)])
    assert found.sides == (OVER, OVER)
    below = asking(6.0, -3.30, UNDER)
    assert look_ahead_together(LEVEL, [below.line, LineAhead(band, 9.0, True, None)]).sides == (UNDER, UNDER)
    planned = LineAhead(band, 9.0, True, UNDER)
    assert look_ahead_together(LEVEL, [first.line, planned]).clash.places == (0, 1)


def test_the_steering_for_two_begins_before_that_for_either():
    # Alone the first could wait, and so could the second: both together cannot.
    lines = lines_of(asking(9.0, -2.9, OVER), asking(15.0, -3.5, UNDER))
    alone = [beginning(Joint(LEVEL.head, one), RIG, one.planned).straight_rods for one in lines]
    found = look_ahead_together(LEVEL, lines)
    assert found.straight_rods < min(alone)
    assert found.steered_rad > LEVEL.head.angle_rad
    assert found.held_by == (0, 1)


def test_room_below_the_ceiling_is_asked_for_over_a_line():
    band = ForbiddenBand("line", 8.9, 9.1, -4.0, -3.2)
    low = LineAhead(band, 9.0, True, OVER, ceiling_m=-3.3)
    assert look_ahead_together(LEVEL, [low]).clash.places == (0,)


def test_where_the_plan_turns_less_is_left_for_the_pitch():
    lowest_m = highest_then_lowest_m(6.0, 15.0)(0.30)
    lines = [asking(6.0, -2.70, OVER), asking(15.0, lowest_m + 0.02, UNDER)]
    assert can_pass_all(LEVEL, lines)
    turning = Ahead(LEVEL.head, RIG, (LevelTurn(6.0, 9.0, 0.6 / RADIUS_M),))
    assert not can_pass_all(turning, lines)
    # What the plan turns beyond both takes nothing from them.
    assert can_pass_all(Ahead(LEVEL.head, RIG, (LevelTurn(15.1, 18.0, 0.6 / RADIUS_M),)), lines)


@settings(max_examples=100, deadline=None)
@given(angles, st.floats(0.0, 0.01), st.floats(1.0, 30.0), st.floats(-7.0, 0.0), st.sampled_from(Side))
def test_one_line_alone_is_what_the_look_ahead_says_of_it(angle, error, run_m, edge_m, side):
    head = Head(-3.0, angle, error)
    one = asking(run_m, edge_m, side, half_m=0.5)
    assume(run_m > 0.6)
    alone = beginning(Joint(head, one.line), RIG, side)
    together = look_ahead_together(Ahead(head, RIG), [one.line])
    eased = asking(run_m, edge_m - 3.0 * SLACK_M * side.upward, side, half_m=0.5)
    if alone.can_be_met:
        assert together.clash is None
    elif not beginning(Joint(head, eased.line), RIG, side).can_be_met:
        assert together.clash.places == (0,)
    if alone.straight_rods is not None:
        assert together.straight_rods is None or together.straight_rods >= alone.straight_rods


def passes(runs, heights, passings, slack_m) -> bool:
    """Whether a way that was laid passes all lines, those that it ends before too."""
    at = np.array([one.line.run_m for one in passings])
    if runs[-1] < at.max() + POINT_M:
        return False
    up = np.array([one.side.upward for one in passings])
    edges = np.array([one.line.obstacle.upper_m for one in passings])
    return bool((up * (np.interp(at, runs, heights) - edges) >= -slack_m).all())


@settings(max_examples=150, deadline=None)
@given(
    angles,
    steerings(),
    st.lists(
        st.tuples(st.floats(0.5, 14.0), st.floats(-0.4, 0.4), st.sampled_from(Side)), min_size=1, max_size=4
    ),
)
def test_no_steering_passes_all_where_none_is_said_to(angle, steering, asked):
    runs, heights, _plan = laid(-3.0, angle, RADIUS_M, steering)
    passings = [
        asking(run, float(np.interp(run, runs, heights)) + off, side)
        for run, off, side in sorted(asked, key=lambda one: one[0])
    ]
    if passes(runs, heights, passings, -LAID_M):
        assert can_pass_all(Ahead(Head(-3.0, angle), RIG), passings)


@cache
def every_way(angle):
    """All ways that steer whole or half of the bend, either way, or straight, rod by rod."""
    return [
        laid(-3.0, angle, RADIUS_M, Steering(tuple((ROD_M, share, 0.0) for share in shares)))[:2]
        for shares in product((-1.0, -0.5, 0.0, 0.5, 1.0), repeat=5)
    ]


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([-0.15, 0.0, 0.1]),
    st.lists(
        st.tuples(st.floats(2.0, 13.0), st.floats(-1.0, 1.0), st.sampled_from(Side)), min_size=2, max_size=3
    ),
)
def test_against_every_steering_of_five_rods(angle, asked):
    """What a way of fifths passes is said to be passed, and where none comes near nothing is."""
    passings = [
        asking(run, -3.0 + run * np.tan(angle) + off, side)
        for run, off, side in sorted(asked, key=lambda one: one[0])
    ]
    said = can_pass_all(Ahead(Head(-3.0, angle), RIG), passings)
    # Of ways that steer fifths of a rod evenly, one lies as near to any other as this at every place.
    near_m = 0.25
    if any(passes(*way, passings, -LAID_M) for way in every_way(angle)):
        assert said
    if said:
        assert any(passes(*way, passings, near_m) for way in every_way(angle))


@settings(max_examples=60, deadline=None)
@given(
    angles,
    st.floats(0.0, 0.01),
    st.lists(
        st.tuples(st.floats(4.0, 20.0), st.floats(-0.6, 0.6), st.sampled_from(Side)), min_size=2, max_size=4
    ),
)
def test_the_rods_that_can_be_held_are_all_that_leave_a_way(angle, error, asked):
    head = Head(-3.0, angle, error)
    passings = [
        asking(run, -3.0 + run * np.tan(angle) + off, side)
        for run, off, side in sorted(asked, key=lambda one: one[0])
    ]
    found = look_ahead_together(Ahead(head, RIG), lines_of(*passings))
    assume(found.clash is None and found.straight_rods is not None)
    ahead = Ahead(head, RIG)
    held = found.straight_rods
    assert can_pass_all(ahead, passings, held)
    assert held == 0 or found.steered_rad is not None
    more = held + 1
    while can_pass_all(ahead, passings, more, SURE_M):
        # A way there is, but no pitch that could be told leads into it.
        assert pitch_for_rod(ahead, passings, more) is None
        more += 1
    assert clash_of(ahead, [passings[place] for place in found.held_by], more, SURE_M) is not None


@settings(max_examples=60, deadline=None)
@given(
    angles,
    st.lists(
        st.tuples(st.floats(1.0, 20.0), st.floats(-1.5, 1.5), st.sampled_from(Side)), min_size=2, max_size=5
    ),
)
def test_lines_that_clash_cannot_be_fewer(angle, asked):
    ahead = Ahead(Head(-3.0, angle), RIG)
    passings = [
        asking(run, -3.0 + run * np.tan(angle) + off, side)
        for run, off, side in sorted(asked, key=lambda one: one[0])
    ]
    clash = clash_of(ahead, passings)
    assert (clash is None) == can_pass_all(ahead, passings)
    assume(clash is not None)
    told = [passings[place] for place in clash.places]
    assert not can_pass_all(ahead, told)
    for left_out in range(len(told)):
        assert can_pass_all(ahead, told[:left_out] + told[left_out + 1 :])
