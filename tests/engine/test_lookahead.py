"""Whether a line ahead can still be passed, until when to steer, and how far to pull back."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from conflicts.engine.arcs import minimum_curvature
from conflicts.engine.errors import LookAheadError
from conflicts.engine.lookahead import (
    Joint,
    LineAhead,
    Prospect,
    Side,
    beginning,
    look_ahead,
    rods_to_pull_back,
)
from conflicts.engine.path import Ground
from conflicts.engine.profile_limits import ForbiddenBand
from conflicts.engine.profile_lines import BLOCKED_M, UnknownDepth
from conflicts.engine.reach import Head, Rig
from tests.engine.steering import LAID_M, Steering, laid, steerings

ROD_M, RADIUS_M = 3.0, 30.0
RIG = Rig(ROD_M, RADIUS_M)
FLAT = Ground(np.empty(0), np.empty(0))
angles = st.floats(-0.3, 0.3)


def line_at(run_m, lower_m, upper_m, planned=None, half_m=0.5, **changes) -> LineAhead:
    """A line that forbids the heights between two, half a metre to either side of its crossing point."""
    band = ForbiddenBand("line", run_m - half_m, run_m + half_m, lower_m, upper_m)
    return LineAhead(band, run_m, True, planned, **changes)


def prospect(head, line) -> Prospect:
    return look_ahead(head, RIG, [line])[0].prospect


def passes(runs, heights, line, side) -> bool:
    """Whether a way that was laid passes a line on a side; ways that end before it do not."""
    band = line.obstacle
    if runs[-1] < band.to_m:
        return False
    at = np.interp(np.linspace(max(0.0, band.from_m), band.to_m, 60), runs, heights)
    return bool((at >= band.upper_m).all() if side is Side.OVER else (at <= band.lower_m).all())


def test_a_level_head_below_the_line_goes_straight_under_it():
    outlook = look_ahead(Head(-3.0, 0.0), RIG, [line_at(7.5, -2.0, -1.0, Side.UNDER)])[0]
    assert outlook.prospect is Prospect.STRAIGHT
    assert outlook.aim.straight_rods is None
    assert outlook.rods_to_it == 3
    arc = 30.0 - np.sqrt(900.0 - 7.5**2)
    assert outlook.lowest_m == pytest.approx(-3.0 - arc, abs=1e-9)
    assert outlook.highest_m == pytest.approx(-3.0 + arc, abs=1e-9)
    assert (outlook.lower_m, outlook.upper_m) == (-2.0, -1.0)


def test_the_last_rod_to_begin_is_that_of_the_closed_form():
    # From level at -3 the arc must rise 0.5 m by 11.5 m: R - sqrt(R^2 - x^2) = 0.5 asks for
    # x = sqrt(0.5 (60 - 0.5)) = 5.454 m of steering, so 6.046 m can be held: two rods of 3 m, not three.
    line = line_at(12.0, -4.5, -2.5, Side.OVER)
    assert look_ahead(Head(-3.0, 0.0), RIG, [line])[0].aim.straight_rods == 2
    # 5 cm less of the way and it is one.
    nearer = line_at(11.95, -4.5, -2.5, Side.OVER)
    assert look_ahead(Head(-3.0, 0.0), RIG, [nearer])[0].aim.straight_rods == 1


def test_a_side_that_is_lost_is_told_with_the_one_that_is_left():
    outlook = look_ahead(Head(-3.0, 0.0), RIG, [line_at(6.0, -2.5, -1.0, Side.OVER)])[0]
    assert outlook.prospect is Prospect.OTHER_SIDE
    assert not outlook.aim.can_be_met
    assert outlook.other.is_met_straight


def test_a_band_without_a_clear_depth_is_told():
    assert prospect(Head(-3.0, 0.0), line_at(6.0, -4.0, -2.0, Side.OVER)) is Prospect.NO_CLEAR_DEPTH


def test_without_a_plan_the_side_that_needs_less_is_aimed_at():
    outlook = look_ahead(Head(-3.0, 0.0), RIG, [line_at(15.0, -3.1, -2.0)])[0]
    assert outlook.aim.side is Side.UNDER
    assert outlook.prospect is Prospect.STEER


def test_an_unknown_depth_is_never_a_yes():
    for down_to_m in (BLOCKED_M, 2.0):
        unknown = UnknownDepth("line", 5.0, 6.0, FLAT, down_to_m)
        line = LineAhead(unknown, 5.5, False, Side.UNDER)
        for depth_m in (0.5, 3.0, 10.0):
            outlook = look_ahead(Head(-depth_m, 0.0), RIG, [line])[0]
            assert outlook.prospect is Prospect.UNKNOWN_DEPTH
            assert not outlook.aim.can_be_met
            assert not outlook.other.can_be_met
            assert (outlook.lower_m, outlook.upper_m) == (-np.inf, np.inf)
        assert rods_to_pull_back([Joint(Head(-10.0, 0.0), line)], RIG) is None


def test_a_line_under_which_every_height_has_the_margin_asks_for_nothing():
    class Free(ForbiddenBand):
        def edges_m(self, stations_m, margin_m):
            return np.full(len(stations_m), np.nan), np.full(len(stations_m), np.nan)

    line = LineAhead(Free("line", 5.0, 6.0, 0.0, 0.0), 5.5, True, Side.OVER)
    assert prospect(Head(-3.0, 0.0), line) is Prospect.STRAIGHT


def test_over_a_line_the_ceiling_must_leave_room():
    head, line = Head(-1.0, 0.0), line_at(9.0, -3.0, -1.5, Side.OVER)
    assert prospect(head, line) is Prospect.STRAIGHT
    low = line_at(9.0, -3.0, -1.5, Side.OVER, ceiling_m=-1.6)
    assert prospect(head, low) is not Prospect.STRAIGHT
    assert look_ahead(head, RIG, [low])[0].highest_m <= -1.6


def test_within_a_line_only_what_lies_ahead_counts():
    # The crossing point is passed and the zone is not: too high where it still counts.
    line = LineAhead(ForbiddenBand("line", -4.0, 0.4, -2.0, -1.0), -2.0, True, Side.UNDER)
    assert prospect(Head(-3.0, 0.0), line) is Prospect.STRAIGHT
    assert look_ahead(Head(-3.0, 0.0), RIG, [line])[0].rods_to_it == 0
    assert prospect(Head(-1.5, 0.0), line) is Prospect.NO_CLEAR_DEPTH
    behind = LineAhead(ForbiddenBand("line", -4.0, -0.4, -2.0, -1.0), -2.0, True, Side.UNDER)
    with pytest.raises(LookAheadError):
        look_ahead(Head(-3.0, 0.0), RIG, [behind])


def test_lines_come_in_the_order_of_their_crossing_points():
    lines = [line_at(at, -2.0, -1.0) for at in (12.0, 4.0, 8.0)]
    assert [one.line.run_m for one in look_ahead(Head(-3.0, 0.0), RIG, lines)] == [4.0, 8.0, 12.0]


@settings(max_examples=200, deadline=None)
@given(angles, steerings(), st.floats(1.0, 12.0), st.floats(-6.0, 0.0), st.sampled_from(Side))
def test_no_steering_passes_where_the_look_ahead_says_that_none_can(angle, steering, run_m, edge_m, side):
    line = line_at(run_m, edge_m, edge_m)
    runs, heights, _plan = laid(-3.0, angle, RADIUS_M, steering)
    shifted = heights - side.upward * LAID_M
    if passes(runs, shifted, line, side):
        assert beginning(Joint(Head(-3.0, angle), line), RIG, side).can_be_met


@settings(max_examples=150, deadline=None)
@given(angles, st.floats(2.0, 30.0), st.floats(-8.0, 1.0), st.sampled_from(Side), st.floats(0.0, 1.0))
def test_the_last_rod_to_begin_is_that_of_laid_ways(angle, run_m, edge_m, side, share):
    found = beginning(Joint(Head(-3.0, angle), line_at(run_m, edge_m, edge_m)), RIG, side)

    def met(straight, part, slack_m):
        pieces = ((ROD_M * straight, 0.0, 0.0),) * (straight > 0) + ((ROD_M, part, 0.0),) * 8
        # Pitches past 45 degrees are not steered to.
        assume(abs(angle) + 8 * ROD_M / RADIUS_M * abs(part) < 1.5)
        runs, heights, _plan = laid(-3.0, angle, RADIUS_M, Steering(pieces))
        return passes(runs, heights + side.upward * slack_m, line_at(run_m, edge_m, edge_m), side)

    if found.straight_rods is None:
        return
    assume(run_m + 0.5 < 3.0 * 0.93 * found.straight_rods + 14.0)
    assert met(found.straight_rods, side.upward, LAID_M)
    assert not met(found.straight_rods + 1, side.upward * share, -LAID_M)


# A level hole 3.2 m deep under three lines, after ten rods down and a bend, and up again: pitch at the end of
# each rod, percent. In rod 17 the face pointed the wrong way.
PLANNED = (-30, -30, -30, -30, -22, -15, -8, 0, *[0] * 38, 8, 15, 22, 25, *[25] * 10)
MISTAKE = 17
LINES_AT_M = (38.0, 55.5, 90.0)


def heads_of(percents, error_rad=0.003) -> list[tuple[float, Head]]:
    """Station and head at each joint of a log, the entry first."""
    pitch = np.arctan(np.array([percents[0], *percents]) / 100.0)
    lengths = ROD_M * np.arange(len(percents) + 1)
    points = minimum_curvature(lengths, 0.5 * np.pi + pitch, np.zeros_like(pitch))
    return [
        (float(at), Head(float(up), float(angle), error_rad))
        for (_east, at, up), angle in zip(points, pitch, strict=True)
    ]


def joint_of(station_m, head, line_m, level_m) -> Joint:
    return Joint(head, line_at(line_m - station_m, level_m + 0.10, level_m + 1.4, Side.UNDER))


def called_out(joints, rods, level_m) -> list[tuple[float, Prospect, int | None]]:
    """The lines ahead that can no longer be passed as planned, with the rods to pull back."""
    found = []
    station, head = joints[rods]
    for line_m in LINES_AT_M:
        if line_m + 0.5 <= station:
            continue
        outlook = look_ahead(head, RIG, [joint_of(station, head, line_m, level_m).line])[0]
        if not outlook.aim.can_be_met:
            back = [joint_of(*joints[index], line_m, level_m) for index in range(rods, -1, -1)]
            found.append((line_m, outlook.prospect, rods_to_pull_back(back, RIG)))
    return found


def test_a_log_of_sixty_rods_that_follows_its_plan_is_never_called_out():
    joints = heads_of(PLANNED)
    assert len(joints) == 61
    level_m = joints[20][1].elevation_m
    assert [rods for rods in range(61) if called_out(joints, rods, level_m)] == []


def test_the_mistake_in_rod_17_is_called_out_at_rod_17():
    level_m = heads_of(PLANNED)[20][1].elevation_m
    logged = list(PLANNED)
    # Up by nearly all that a rod can, then straight on, and back to the old depth from rod 19 on.
    logged[MISTAKE - 1 : 22] = [9, 9, 0, -9, -9, 0]
    joints = heads_of(logged)
    assert len(joints) == 61
    told = {rods: called_out(joints, rods, level_m) for rods in range(61)}
    assert min(rods for rods, found in told.items() if found) == MISTAKE
    assert told[MISTAKE - 1] == []
    assert told[MISTAKE] == [(55.5, Prospect.NO_CLEAR_DEPTH, 1)]
    assert told[MISTAKE + 1] == [(55.5, Prospect.NO_CLEAR_DEPTH, 2)]
    # The lines past it can still be met, and are not called out.
    assert 90.0 not in [line for found in told.values() for line, _prospect, _back in found]
