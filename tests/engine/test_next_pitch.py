"""Whatever pitch is told for the next rod, done word for word, loses no line: rods drilled by laid arcs.

The rods are laid by `points_along` from attitudes at the ends of their pieces, not by the way that the look-
ahead counts them; that a line is passed is read from these points.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from conflicts.engine.corridor_ahead import Ahead, Passing
from conflicts.engine.joint_ahead import can_pass_all, look_ahead_together, pitch_to_tell
from conflicts.engine.lookahead import Joint, LineAhead, Side, beginning
from conflicts.engine.next_pitch import TOLD_RATIO, can_pass_all_after, nearest_angles_rad
from conflicts.engine.profile_limits import ForbiddenBand
from conflicts.engine.reach import Head, LevelTurn, Rig
from tests.engine.steering import Steering, laid

ROD_M, RADIUS_M, ERROR_RAD = 3.0, 30.0, 0.005
MOST_RODS = 14
# How a crew turns to the pitch that it was told: over the whole rod, or from the bit on or later.
TURNS = ("whole", "late")


@dataclass(frozen=True)
class Asked:
    """A line at a run that asks for an elevation, as far as half to either side of it."""

    run_m: float
    half_m: float
    edge_m: float
    side: Side

    def seen_from(self, run_m) -> LineAhead:
        low, high = self.run_m - self.half_m - run_m, self.run_m + self.half_m - run_m
        return LineAhead(
            ForbiddenBand("line", low, high, self.edge_m, self.edge_m), self.run_m - run_m, True, self.side
        )

    def is_passed_by(self, runs, heights) -> bool:
        at = np.linspace(self.run_m - self.half_m, self.run_m + self.half_m, 60)
        off = self.side.upward * (np.interp(at, runs, heights) - self.edge_m)
        return bool((off >= -1e-3).all())


def pieces_to(angle_rad, asked_rad, lead_m, turn) -> tuple[tuple[float, float, float], ...]:
    """A rod as pieces with shares of the bend, from one pitch to another, or as near to it as bends."""
    asked = float(np.clip(asked_rad - angle_rad, -ROD_M / RADIUS_M, ROD_M / RADIUS_M))
    late_m = min(lead_m, ROD_M - abs(asked) * RADIUS_M) if turn == "late" else 0.0
    left_m = ROD_M - late_m
    return ((late_m, 0.0, 0.0), (left_m, asked * RADIUS_M / left_m if left_m else 0.0, 0.0))


@dataclass(frozen=True)
class Drilled:
    """A hole so far: where the antenna is, the pitch that is read there, and all of it."""

    run_m: float
    elevation_m: float
    angle_rad: float
    runs_m: np.ndarray
    heights_m: np.ndarray

    def further(self, asked_rad, rig, turn, error_rad) -> "Drilled":
        """One rod more, where the pitch points by an error otherwise than it is read."""
        pieces = [one for one in pieces_to(self.angle_rad, asked_rad, rig.bit_lead_m, turn) if one[0] > 1e-9]
        runs, heights, _plan = laid(
            self.elevation_m, self.angle_rad + error_rad, RADIUS_M, Steering(tuple(pieces))
        )
        return Drilled(
            self.run_m + runs[-1],
            heights[-1],
            self.angle_rad + sum(length * share / RADIUS_M for length, share, _right in pieces),
            np.concatenate([self.runs_m, self.run_m + runs[1:]]),
            np.concatenate([self.heights_m, heights[1:]]),
        )

    def ahead(self, rig) -> Ahead:
        return Ahead(Head(self.elevation_m, self.angle_rad, ERROR_RAD), rig)


def begun(angle_rad) -> Drilled:
    return Drilled(0.0, -3.0, angle_rad, np.array([0.0]), np.array([-3.0]))


@st.composite
def lines_near_a_way(draw, angle_rad) -> list[Asked]:
    """Lines that some way passes by a little, so that together they leave little."""
    shares = draw(st.lists(st.sampled_from([-1.0, -0.6, 0.0, 0.6, 1.0]), min_size=12, max_size=12))
    runs, heights, _plan = laid(
        -3.0, angle_rad, RADIUS_M, Steering(tuple((3.0, 0.8 * one, 0.0) for one in shares))
    )
    lines = []
    for run_m in sorted(draw(st.lists(st.floats(4.0, 27.0), min_size=1, max_size=4))):
        half_m, spare_m = draw(st.floats(0.2, 1.0)), draw(st.sampled_from([0.03, 0.1, 0.25]))
        side = draw(st.sampled_from(Side))
        near = np.interp(np.linspace(run_m - half_m, run_m + half_m, 40), runs, heights)
        edge_m = near.min() - spare_m if side is Side.OVER else near.max() + spare_m
        lines.append(Asked(run_m, half_m, float(edge_m), side))
    return lines


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_whoever_does_what_is_told_loses_no_line(data):
    angle_rad = data.draw(st.floats(-0.15, 0.15), label="pitch")
    rig = Rig(ROD_M, RADIUS_M, bit_lead_m=data.draw(st.sampled_from([0.0, 0.9144, 1.5]), label="lead"))
    lines = data.draw(lines_near_a_way(angle_rad), label="lines")
    error_rad = data.draw(st.sampled_from([-ERROR_RAD, 0.0, ERROR_RAD]), label="error of the pitch")
    hole, told = begun(angle_rad), []
    while len(told) < MOST_RODS:
        left = [one for one in lines if one.run_m + one.half_m > hole.run_m]
        ahead, seen = hole.ahead(rig), [one.seen_from(hole.run_m) for one in left]
        together = look_ahead_together(ahead, seen)
        if not told:
            assume(together.clash is None)
        assert together.clash is None, told
        planned_rad = data.draw(st.floats(-0.15, 0.15), label="planned pitch")
        asked_rad = pitch_to_tell(ahead, seen, together, planned_rad)
        if asked_rad is None:
            event("stopped while every line can be passed")
            break
        told.append((asked_rad, together.straight_rods))
        hole = hole.further(asked_rad, rig, data.draw(st.sampled_from(TURNS), label="turn"), error_rad)
    for one in lines:
        if one.run_m + one.half_m <= hole.run_m:
            assert one.is_passed_by(hole.runs_m, hole.heights_m), told


def lost_by_some_turn(hole, rig, lines, asked_rad, room_m=0.004) -> bool:
    """Whether a way to turn to a pitch, with some error of it, leaves a line that no way passes any more."""
    for turn in TURNS:
        for error_rad in (-ERROR_RAD, ERROR_RAD):
            after = hole.further(asked_rad, rig, turn, error_rad)
            left = [one for one in lines if one.run_m + one.half_m > after.run_m]
            passings = [Passing(one.seen_from(after.run_m), one.side) for one in left]
            past = [one for one in lines if one.run_m - one.half_m < after.run_m]
            crossed = [Asked(one.run_m, one.half_m, one.edge_m, one.side) for one in past]
            if not can_pass_all(after.ahead(rig), passings, room_m=room_m):
                return True
            if not all(
                one.is_passed_by(after.runs_m, after.heights_m)
                for one in crossed
                if one.run_m + one.half_m <= after.run_m
            ):
                return True
    return False


def close_pairs():
    """Two lines close together ahead of a head that goes down, over one and under the other, by heights."""
    for edge_m in np.arange(-4.1, -3.7, 0.04):
        for apart_m in (0.0, 0.05, 0.1):
            for first in Side:
                other_m = edge_m - 0.15 + first.upward * apart_m
                yield Asked(9.0, 0.3, float(edge_m), first), Asked(10.5, 0.3, float(other_m), first.other)


@pytest.mark.parametrize("lead_m", [0.0, 0.9144])
def test_whoever_holds_the_pitch_for_as_many_rods_as_are_told_is_not_stopped(lead_m):
    """Also where the pitch, held for rods, led higher or lower all along than it is read."""
    rig, counted = Rig(ROD_M, RADIUS_M, bit_lead_m=lead_m), 0
    for lines in close_pairs():
        told = look_ahead_together(begun(-0.1).ahead(rig), [one.seen_from(0.0) for one in lines])
        if told.clash is not None or not told.straight_rods:
            continue
        counted += 1
        for error_rad in (-ERROR_RAD, ERROR_RAD):
            hole = begun(-0.1)
            for _rod in range(told.straight_rods):
                hole = hole.further(-0.1, rig, "whole", error_rad)
                found = look_ahead_together(hole.ahead(rig), [one.seen_from(hole.run_m) for one in lines])
                assert found.clash is None, (lines, told)
                assert not found.leaves_no_pitch, (lines, told)
            assert not lost_by_some_turn(hole, rig, lines, told.steered_rad, room_m=0.0), (lines, told)
    assert counted > 20


@pytest.mark.parametrize("lead_m", [0.0, 0.9144])
def test_where_no_pitch_is_told_each_of_them_loses_a_line(lead_m):
    rig, hole = Rig(ROD_M, RADIUS_M, bit_lead_m=lead_m), begun(0.0)
    # Over one and under the next with a hand between: passed from either end of the error, by no one pitch.
    stopped = []
    for edge_m in np.arange(-2.98, -2.80, 0.01):
        lines = [Asked(4.0, 0.3, float(edge_m), Side.OVER), Asked(6.5, 0.3, float(edge_m), Side.UNDER)]
        ahead, seen = hole.ahead(rig), [one.seen_from(0.0) for one in lines]
        together = look_ahead_together(ahead, seen)
        if together.clash is None and pitch_to_tell(ahead, seen, together, 0.0) is None:
            stopped.append(edge_m)
            assert together.leaves_no_pitch
            for ratio in np.arange(-0.1, 0.1, 5.0 * TOLD_RATIO):
                assert lost_by_some_turn(hole, rig, lines, float(np.arctan(ratio))), (edge_m, ratio)
    assert stopped


def test_a_pitch_between_the_quarters_of_the_bend_is_found():
    """Of the whole bend, 0.1, and quarters of it none will do; 5.3 to 5.6 % will."""
    rig, hole = Rig(ROD_M, RADIUS_M), begun(0.0)
    aimed = hole.further(0.062, rig, "whole", 0.0).further(0.062, rig, "whole", 0.0)
    edge_m = float(np.interp(4.0, aimed.runs_m, aimed.heights_m))
    lines = [Asked(4.0, 0.01, edge_m - 0.015, Side.OVER), Asked(4.1, 0.01, edge_m + 0.015, Side.UNDER)]
    ahead, seen = Ahead(Head(-3.0, 0.0, 0.001), rig), [one.seen_from(0.0) for one in lines]
    passing = [
        round(ratio, 3)
        for ratio in np.arange(-0.1, 0.1, TOLD_RATIO)
        if can_pass_all_after(ahead, seen, float(np.arctan(ratio)))
    ]
    assert passing
    assert not set(passing) & {0.0, 0.025, 0.05, 0.075, 0.1}
    together = look_ahead_together(ahead, seen)
    assert together.straight_rods == 0
    assert round(float(np.tan(together.steered_rad)), 3) in passing


def test_of_pitches_that_leave_enough_the_least_turn_is_told():
    """A line far below is passed over by nearly any pitch: the nose is not thrown up for it."""
    ahead = Ahead(Head(-3.0, 0.0), Rig(ROD_M, RADIUS_M))
    line = Asked(9.0, 0.3, -2.55, Side.OVER).seen_from(0.0)
    together = look_ahead_together(ahead, [line])
    assert together.straight_rods == beginning(Joint(ahead.head, line), ahead.rig, Side.OVER).straight_rods
    assert 0.0 < np.tan(together.steered_rad) <= 0.1


def test_what_the_plan_turns_is_taken_from_what_the_rod_can_reach():
    rig = Rig(ROD_M, RADIUS_M)
    straight, turning = (
        Ahead(Head(-3.0, 0.0), rig, turns) for turns in ((), (LevelTurn(0.0, 3.0, 0.6 / RADIUS_M),))
    )
    # sqrt(1 - 0.6^2) = 0.8 of the bend is left (right triangle).
    np.testing.assert_allclose(np.sin(nearest_angles_rad(straight, [0.5, -0.5])), [0.1, -0.1], atol=1e-12)
    np.testing.assert_allclose(np.sin(nearest_angles_rad(turning, [0.5, -0.5])), [0.08, -0.08], atol=1e-12)


def test_an_unknown_depth_is_passed_after_no_pitch():
    ahead = Ahead(Head(-3.0, 0.0), Rig(ROD_M, RADIUS_M))
    line = Asked(9.0, 0.3, -5.0, Side.OVER).seen_from(0.0)
    assert can_pass_all_after(ahead, [line], 0.0)
    unknown = LineAhead(line.obstacle, line.run_m, False, Side.OVER)
    assert not can_pass_all_after(ahead, [unknown], 0.0)
