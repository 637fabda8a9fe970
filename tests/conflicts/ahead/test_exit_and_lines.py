"""A line short of the exit: what is told for the exit's sake passes the line too, or the sheet stops."""

import re

import numpy as np
import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from conflicts.ahead_sheet import Advice, advice_of
from conflicts.ahead_stops import HOLE_NOT_CLEAR
from conflicts.crossings_ahead import AllAhead, Drilling
from conflicts.engine.joint_ahead import Together, look_ahead_together, pitch_to_tell
from conflicts.engine.lookahead import Side
from conflicts.engine.reach import Head, Rig
from conflicts.exit_ahead import Exit, ToExit, with_exit
from conflicts.exit_and_lines import EXIT_CLASH, EXIT_LOST, NO_EXIT_PITCH, ExitHeight
from conflicts.next_rod import as_told, next_rod_words
from conflicts.stop_rules import RULE_OF, StopCode
from conflicts.together_words import Steer
from conflicts.way_ahead import Planned, rig_of, way_ahead
from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import assessed_of, log_of, sheet_of
from tests.conflicts.ahead.test_following_the_words import planned_as, second_line
from tests.engine.test_next_pitch import ERROR_RAD, RADIUS_M, ROD_M, TURNS, Asked, Drilled
from tests.site_of_today import bore_of_today

# Down to 1.07 m and level; the antenna is 11.6 m short of the end after 29 rods, the line 6.6 m ahead.
SHORT_OF_IT = ((-0.1,) * 3, (-0.05,), (0.0,) * 25)
PITCHES = tuple(pitch for part in SHORT_OF_IT for pitch in part)
LINE_LOST = RULE_OF[StopCode.NO_CLEAR_DEPTH].when
EXIT_M = 5.0
ALLOWED_M = 0.2
THERE = Exit(np.array([0.0, 0.0, EXIT_M]), np.array([1.0, 0.0]), 0.35, ALLOWED_M)
RIG = Rig(ROD_M, RADIUS_M, bit_lead_m=0.9144)


def to_the_exit(hole, run_m):
    head = Head(hole.elevation_m - EXIT_M, hole.angle_rad, ERROR_RAD)
    return ToExit(head, Head(0.0, 0.0), RIG, run_m, (), THERE)


def begun(depth_m, angle_rad=0.0):
    return Drilled(0.0, EXIT_M - depth_m, angle_rad, np.array([0.0]), np.array([EXIT_M - depth_m]))


@pytest.fixture
def bore(db):
    """Level at 1.2 m to station 94.5, and a line at station 95 that is passed under."""
    bore = bore_of_today()
    bore.job.test_holes.update(dug_depth_m=6.0, depth_to_top_m=4.0)
    planned_as(bore, (12.0, 94.5), (1.2, 1.2))
    second_line(bore, 95.0, 0.1)
    return bore


def line_at(bore, depth_m):
    bore.job.test_holes.filter(position=factories.point(95.0, 0)).update(depth_to_top_m=depth_m)


def whens(sheet):
    return [stop.when for stop in sheet.stops]


def test_the_pitch_told_for_the_exit_passes_the_line_before_it_too(bore):
    sheet = sheet_of(bore, log_of(*PITCHES))
    assert (sheet.advice, sheet.answer.large) == (Advice.STEER_NOW, "Steer up now")
    assert sheet.answer.lines[0].endswith("the exit must be met, and every line before it passed.")
    told = re.search(
        r"would lose the exit or a line before it\. With (\S+) % there the exit can still be met",
        sheet.answer.lines[1],
    )
    assert sheet_of(bore, log_of(*PITCHES, float(told[1]) / 100.0)).stops == ()


@pytest.mark.parametrize(("depth_m", "when"), [(0.36, EXIT_CLASH), (0.3, NO_EXIT_PITCH)])
def test_where_up_for_the_exit_would_lose_the_line_it_stops_with_the_rods_to_pull_back(bore, depth_m, when):
    line_at(bore, depth_m)
    sheet = sheet_of(bore, log_of(*PITCHES))
    assert sheet.advice is Advice.STOP
    [stop] = sheet.stops
    assert stop.when == when
    # Each by itself can be met.
    assert [row.prospect for row in sheet.rows] == ["Passed at this pitch"]
    assert (
        "Pull back 1 rod: from the end of rod 28 the exit and every line before it can be met."
        in stop.because
    )
    assert sheet_of(bore, log_of(*PITCHES[:-1])).stops == ()


def test_the_stop_names_the_line_and_how_far_from_the_exit_it_leaves_the_hole(bore):
    line_at(bore, 0.36)
    [stop] = sheet_of(bore, log_of(*PITCHES)).stops
    ref = bore.job.test_holes.get(position=factories.point(95.0, 0)).mark.ref
    assert re.search(
        rf"{ref} at station \S+ must be passed under\. The hole then ends 11 in under the planned end or "
        r"more; allowed is 7 in\.",
        stop.because,
    )


@pytest.mark.parametrize(
    ("depth_m", "pitches", "whens_told"),
    [
        # Up past the line, which is lost: told for it alone, the two could not both be met from there.
        (0.36, (*PITCHES[:-2], 0.1, 0.1), {LINE_LOST}),
        (0.6, (*PITCHES, 0.1), {LINE_LOST}),
        # Down, so that the exit is lost: told for it alone, the line could not be met from there.
        (0.45, (*PITCHES[:-1], -0.1, -0.1), {EXIT_LOST}),
        (0.3, (*PITCHES, -0.05, -0.1), {EXIT_LOST}),
        # Both, of which two figures were told.
        (0.6, (*PITCHES, 0.05, 0.05), {LINE_LOST, EXIT_LOST, HOLE_NOT_CLEAR}),
    ],
)
def test_pulled_back_as_far_as_is_told_the_exit_and_every_line_can_be_met(bore, depth_m, pitches, whens_told):
    line_at(bore, depth_m)
    sheet = sheet_of(bore, log_of(*pitches))
    assert set(whens(sheet)) == whens_told
    told = [stop.because for stop in sheet.stops if stop.when != HOLE_NOT_CLEAR]
    [rods] = {int(re.search(r"Pull back (\d+) rod", words)[1]) for words in told}
    for words in told:
        assert "The exit can be met." in words or "the exit and every line before it can be met." in words
    assert sheet_of(bore, log_of(*pitches[:-rods])).stops == ()
    # It is no farther than it must be.
    assert rods == 1 or sheet_of(bore, log_of(*pitches[: 1 - rods])).advice is Advice.STOP


def test_where_no_rod_does_for_both_the_line_is_told_alone_and_so_is_the_exit(bore):
    # Under a line at 1 m, 5 m before its end, the hole can come to no exit at the surface.
    line_at(bore, 1.0)
    [stop] = [one for one in sheet_of(bore, log_of(*PITCHES)).stops if one.when == LINE_LOST]
    rods = int(re.search(r"Pull back (\d+) rods?: from there it can still be passed under", stop.because)[1])
    assert "exit" not in stop.because
    [clash] = sheet_of(bore, log_of(*PITCHES[:-rods])).stops
    assert clash.when == EXIT_CLASH
    assert clash.because.endswith("From no logged rod can all be met: pull back to the entry, or plan anew.")


@pytest.mark.parametrize(
    ("told_ratio", "large", "why", "advice"),
    [
        (0.0, "Hold the pitch", "With rod 30 nothing is turned yet", Advice.GO_ON),
        (0.002, "Steer up now", "Rod 30 is the last that can begin it", Advice.STEER_NOW),
    ],
)
def test_where_the_pitch_told_is_that_of_now_nothing_is_called_steering(bore, told_ratio, large, why, advice):
    assessed, log, told_rad = assessed_of(bore), log_of(*PITCHES), float(np.arctan(told_ratio))
    drilled, rig = assessed.drilled_by(log).path, rig_of(assessed.scene.inputs.rig)
    way = way_ahead(assessed.scene, drilled.head, rig)
    drilling = Drilling(assessed.scene, Planned((), ()), drilled, rig, log.stated)
    steer = Steer(0, "up", "the exit must be met")
    for together, leaving in (
        (AllAhead((), Together((), None, 0, told_rad), told_rad), ExitHeight()),
        (AllAhead((), Together((), None), 0.0), ExitHeight(steer, "the exit", told_rad)),
    ):
        told = as_told(steer, together, leaving, 0.0)
        words = next_rod_words(drilling, way, together, told, leaving)
        assert (words[0], words[1][0]) == (large, f"{why}: the exit must be met.")
        assert advice_of([], told) is advice


def test_a_line_and_the_exit_of_which_each_can_be_met_clash_together():
    # Level 1.1 m under the exit and 9 m short of it; the line at 4 m leaves no room to turn up before it.
    hole, line = begun(1.1), Asked(4.0, 0.3, EXIT_M - 1.03, Side.UNDER).seen_from(0.0)
    now = to_the_exit(hole, 9.0)
    assert now.can_be_met
    ahead = hole.ahead(RIG)
    assert look_ahead_together(ahead, [line]).clash is None
    assert look_ahead_together(ahead, with_exit([], now)).clash is None
    both = look_ahead_together(ahead, with_exit([line], now))
    assert both.clash.places == (0, 1)
    assert both.sides == (Side.UNDER, Side.OVER, Side.UNDER)
    # By hand, the pitch 0.5 % too low: 9.2 cm may be risen up to 4.3 m, by its last 2.34 m on the circle of
    # 30 m; the pitch there is 7.3 %, and 4.7 m on the hole is 71 cm higher, 32 cm under the exit.
    begun_m = np.sqrt(2.0 * RADIUS_M * (1.1 - 1.03 + ERROR_RAD * 4.3))
    rise_m = (begun_m / RADIUS_M - ERROR_RAD) * 4.7 + 0.5 * 4.7**2 / RADIUS_M
    assert both.clash.lacking_m == pytest.approx(1.03 - rise_m - ALLOWED_M, abs=5e-3)


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_whoever_does_what_is_told_passes_the_line_and_comes_to_the_exit(data):
    """Rods laid by arcs, each turned over the whole rod or late, with the pitch read wrong by its error."""
    hole = begun(
        data.draw(st.floats(0.4, 2.2), label="depth"), data.draw(st.floats(-0.05, 0.05), label="pitch")
    )
    end_m = data.draw(st.floats(12.0, 20.0), label="run to the exit")
    line_m = data.draw(st.floats(3.0, 9.0), label="run to the line")
    line = Asked(line_m, 0.3, EXIT_M - data.draw(st.floats(0.3, 1.2), label="depth asked"), Side.UNDER)
    turn = data.draw(st.sampled_from(TURNS), label="turn")
    error_rad = data.draw(st.sampled_from([-ERROR_RAD, 0.0, ERROR_RAD]), label="error of the pitch")
    told = []
    while hole.run_m < end_m - 0.01:
        left = [line.seen_from(hole.run_m)] if line.run_m + line.half_m > hole.run_m else []
        ahead, lines = hole.ahead(RIG), with_exit(left, to_the_exit(hole, end_m - hole.run_m))
        together = look_ahead_together(ahead, lines)
        if not told:
            assume(together.clash is None)
        assert together.clash is None, told
        planned_rad = data.draw(st.floats(-0.1, 0.15), label="planned pitch")
        asked_rad = pitch_to_tell(ahead, lines, together, planned_rad)
        if asked_rad is None:
            event("stopped while all can be met")
            return
        told.append(asked_rad)
        hole = hole.further(asked_rad, RIG, turn, error_rad)
    assert line.is_passed_by(hole.runs_m, hole.heights_m), told
    assert abs(np.interp(end_m, hole.runs_m, hole.heights_m) - EXIT_M) <= ALLOWED_M + 1e-3, told
