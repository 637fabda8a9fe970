"""The sheet for the rig, from the records: each thing that is not known stops, and so does each stop rule."""

import re
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from django.utils import timezone

from conflicts.ahead_sheet import Advice, ahead_sheet, unread
from conflicts.ahead_stops import HEAD_NOT_KNOWN, Stop, told_once
from conflicts.as_drilled import as_drilled
from conflicts.assess import compute
from conflicts.bit_ahead import USUAL_LEAD_M
from conflicts.gather import gather
from conflicts.rod_log import LocatingError, LocatorCheckInput, RodInput, RodLog
from conflicts.stop_rules import RULE_OF, StopCode
from locates.models import ClearanceRequirement
from locates.units import format_grade
from tests import factories
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

ROD_M = 3.048
STATED = LocatingError(0.05, 0.05)
DOT_ERROR_M = 0.35
# Down to 2 m and level: the factories' bore runs at 10 % to station 20 and then level, under M at station 50.
DOWN = (-0.1,) * 6


@pytest.fixture
def bore():
    return bore_of_today()


def assessed_of(bore, **changes):
    """The bore as its records are now, with some of what is recorded for its rig changed."""
    inputs = gather([bore.pk])[bore.pk]
    inputs = replace(inputs, rig=replace(inputs.rig, **changes))
    return compute(inputs).at(timezone.now(), inputs.site)


def log_of(*pitches, checks=(), depths=None, last=None) -> RodLog:
    """Rods logged with a depth and a dot each, by their pitches, which give the depths; on the alignment."""
    now, rods, depth, run = timezone.now(), [], 0.0, 0.0
    before = pitches[0] if pitches else 0.0
    for number, pitch in enumerate(pitches, start=1):
        mean_rad = 0.5 * (np.arctan(before) + np.arctan(pitch))
        depth -= ROD_M * np.sin(mean_rad)
        run += ROD_M * np.cos(mean_rad)
        before = pitch
        rods.append(
            RodInput(
                rod_id=str(number),
                after_id=str(number - 1) if number > 1 else None,
                number=number,
                length_m=ROD_M,
                pitch_ratio=pitch,
                depth_m=depth if depths is None else depths,
                roll_rad=None,
                heading_rad=None,
                dot=factories.point(run, 0.0).coords,
                dot_error_m=DOT_ERROR_M,
                confirmed=(),
                remarks="",
                logged_at=now - timedelta(minutes=5),
                logged_by="R. Pell",
            )
        )
    if last:
        rods[-1] = replace(rods[-1], **last)
    return RodLog(STATED, tuple(rods), (), tuple(checks))


def sheet_of(bore, log, release_words=None, **changes):
    return ahead_sheet(assessed_of(bore, **changes), log, release_words=release_words)


def test_on_plan_it_says_so_and_what_comes_and_to_go_on(bore):
    sheet = sheet_of(bore, log_of(*DOWN))
    assert sheet.stops == ()
    assert sheet.advice is Advice.GO_ON
    assert sheet.answer.large == "Drill on by the plan"
    assert sheet.head.large == "On plan"
    mark = bore.job.marks.get()
    assert sheet.coming.large == f"{mark.ref} in 11 rods"
    assert sheet.rod == 6
    assert [row.prospect for row in sheet.rows] == ["Passed at this pitch"]


@pytest.mark.parametrize(("up", "towards"), [(0.1, "down"), (-0.1, "up")])
def test_a_pitch_from_which_no_rod_leads_to_the_plans_is_steered_back(bore, up, towards):
    """Past the line the plan is level; the rig turns a tenth of a radian a rod: 2 of them lie between."""
    log = log_of(*DOWN, *(0.0,) * 13, up, 1.9 * up)
    sheet = sheet_of(bore, log)
    assert sheet.stops == ()
    # On an arc of the rig's radius the sine of the pitch changes by run over radius.
    steep_rad = np.arctan(0.19)
    nearest = np.tan(np.arcsin(np.sin(steep_rad) - 0.1 * np.cos(steep_rad)))
    assert sheet.answer.large == f"Steer {towards}, back to the plan"
    assert sheet.answer.lines[0].endswith(
        f"farther than a rod turns: {format_grade(np.sign(up) * nearest)} is nearest."
    )
    assert "Drill on by the plan" not in sheet.answer.large


def test_a_head_too_high_is_told_to_steer_down_while_it_can(bore):
    # Level at 1 m, the line's top at 0.9 m: it must be passed under.
    high = log_of(*(-0.1,) * 3, *(0.0,) * 6)
    sheet = sheet_of(bore, high)
    assert sheet.advice is Advice.STEER_BY
    assert sheet.answer.large.startswith("Steer down by rod ")
    last = int(sheet.answer.large.rsplit(" ", 1)[1])
    assert last > 10
    # Held until that rod, it is now; and one rod later it is too late.
    now = sheet_of(bore, log_of(*(-0.1,) * 3, *(0.0,) * (last - 4)))
    assert (now.advice, now.answer.large) == (Advice.STEER_NOW, "Steer down now")
    late = sheet_of(bore, log_of(*(-0.1,) * 3, *(0.0,) * (last - 3)))
    assert late.advice is Advice.STOP
    assert RULE_OF[StopCode.NO_CLEAR_DEPTH].when in [stop.when for stop in late.stops]
    assert any("Pull back 1 rod: from there" in stop.because for stop in late.stops)


@pytest.mark.parametrize("missing", ["rod_length_m", "bend_radius_m"])
def test_a_rig_of_which_a_limit_is_not_recorded_stops(bore, missing):
    sheet = sheet_of(bore, log_of(*DOWN), **{missing: None})
    assert sheet.advice is Advice.STOP
    assert sheet.coming.large == "Not known"
    assert "What the rig can steer is not recorded." in sheet.answer.lines
    assert sheet.head.large == "On plan"


def test_before_the_first_rod_it_tells_the_plan(bore):
    """The bore runs at 10 % under M at station 50, whose tolerance zone begins some way before it."""
    sheet = sheet_of(bore, log_of())
    assert (sheet.advice, sheet.stops, sheet.rod) == (Advice.LOG_FIRST, (), None)
    assert sheet.answer.large == "Log rod 1 when it is in"
    assert sheet.answer.lines[0] == "The plan enters with \N{MINUS SIGN}10.0 %."
    assert "is a rod in the ground that is not? Then stop" in sheet.answer.lines[1]
    assert sheet.head.large == "At the entry"
    [first] = assessed_of(bore).crossings
    rods = int(sheet.coming.large.removeprefix(f"{first.mark.ref} in ").removesuffix(" rods"))
    # The bit comes to it with that rod and not with the one before; the hole is longer than its run by 0.5 %
    # of 20 m, and nobody recorded how far the bit is ahead: the usual most counts.
    drilled_m = first.clearance.from_m + 20.0 * (np.hypot(1.0, 0.1) - 1.0) - USUAL_LEAD_M
    assert (rods - 1) * ROD_M < drilled_m <= rods * ROD_M
    assert sheet.coming.lines[1] == f"By the plan: {first.sentence}"


def test_before_the_first_rod_whatever_stops_stops(bore):
    sheet = sheet_of(bore, log_of(), release_words=("None was signed yet.",))
    assert sheet.advice is Advice.STOP
    assert sheet.answer.lines == (RULE_OF[StopCode.NO_RELEASE].when,)
    assert sheet.head.large == "At the entry"


@pytest.mark.parametrize("missing", ["rod_length_m", "bend_radius_m"])
def test_before_the_first_rod_a_rig_that_is_not_recorded_stops(bore, missing):
    sheet = sheet_of(bore, log_of(), **{missing: None})
    assert (sheet.advice, sheet.coming.large) == (Advice.STOP, "Not known")


def test_before_the_first_rod_a_plan_that_meets_no_line_says_so(bore):
    bore.job.marks.all().delete()
    assert sheet_of(bore, log_of()).coming.large == "No line"


def test_a_line_of_unknown_depth_ahead_is_never_a_yes(bore):
    bore.job.test_holes.update(found=False, depth_to_top_m=None, dug_depth_m=1.0)
    for pitches in (DOWN, (*DOWN, 0.0, 0.0), (-0.3,) * 10):
        sheet = sheet_of(bore, log_of(*pitches))
        assert sheet.advice is Advice.STOP
        assert "The depth of a line ahead is not known." in sheet.answer.lines
        assert sheet.rows[0].clear == "not known, for its depth is not"


def test_without_a_release_it_stops_and_says_why(bore):
    sheet = sheet_of(bore, log_of(*DOWN), release_words=("None was signed yet.",))
    assert sheet.advice is Advice.STOP
    assert (sheet.stops[0].when, sheet.stops[0].because) == (
        RULE_OF[StopCode.NO_RELEASE].when,
        "None was signed yet.",
    )


def test_an_expired_ticket_stops(bore):
    bore.job.tickets.update(expires_at=timezone.now() - timedelta(minutes=1))
    sheet = sheet_of(bore, log_of(*DOWN))
    assert RULE_OF[StopCode.TICKET_EXPIRED].when in sheet.answer.lines


def test_marks_that_are_gone_stop(bore):
    bore.job.marks.update(is_intact=False)
    assert RULE_OF[StopCode.MARKS_LOST].when in sheet_of(bore, log_of(*DOWN)).answer.lines


def test_a_reading_kept_out_of_line_stops_until_the_device_is_checked(bore):
    odd = {"confirmed": ("The pitch changed by more than the rig can steer.",)}
    when = RULE_OF[StopCode.READING_OUT_OF_LINE].when
    assert when in sheet_of(bore, log_of(*DOWN, last=odd)).answer.lines
    check = LocatorCheckInput("H1", "receiver 7", 1.6, 1.6, timezone.now(), "R. Pell")
    assert when not in sheet_of(bore, log_of(*DOWN, last=odd, checks=[check])).answer.lines
    before = replace(check, checked_at=timezone.now() - timedelta(hours=1))
    assert when in sheet_of(bore, log_of(*DOWN, last=odd, checks=[before])).answer.lines


def test_a_rod_that_was_kept_without_a_depth_is_no_reading_out_of_line(bore):
    words, rule = "No depth is read since rod 4, over 2 rods.", RULE_OF[StopCode.READING_OUT_OF_LINE].when
    for codes, stops in ((("no_depth",), False), (("bend",), True), (("no_depth", "bend"), True)):
        kept = {"depth_m": None, "confirmed": (words,) * len(codes), "confirmed_codes": codes}
        sheet = sheet_of(bore, log_of(*DOWN, last=kept))
        assert (rule in [stop.when for stop in sheet.stops]) is stops, codes


@pytest.mark.parametrize(
    ("missing", "rods", "told"),
    [
        (
            {"depth_m": None},
            10,
            "No depth is read since rod 6, over 10 rods: the head may have strayed 6 in up or down "
            "meanwhile; allowed is 5 in, the steering allowance.",
        ),
        (
            {"dot": None, "dot_error_m": None},
            3,
            "No dot is read since rod 6, over 3 rods: the head may have strayed 1 ft 7 in to either side "
            "meanwhile, and that dot itself may be 11 in off past what the job states; allowed is 2 ft 0 in, "
            "the tolerance zone.",
        ),
    ],
)
def test_a_head_that_was_drilled_blind_too_far_stops_until_it_is_read(bore, missing, rods, told):
    logged = log_of(*DOWN, *(0.0,) * rods)
    blind = [replace(one, **missing) if one.number > len(DOWN) else one for one in logged.rods]

    def stops_of(*of):
        sheet = sheet_of(bore, replace(logged, rods=of))
        return [stop.because for stop in sheet.stops if stop.when == "Where the head is, is not known."]

    assert stops_of(*blind[:-1]) == []
    assert stops_of(*blind) == [told]
    # The last entry taken back and logged again with what was missing.
    assert stops_of(*blind[:-1], logged.rods[-1]) == []


@pytest.mark.parametrize("error_m", [0.8, 3.0, 20.0])
def test_a_dot_that_may_be_farther_off_than_lines_are_looked_for_stops(bore, error_m):
    log = log_of(*DOWN, 0.0, 0.0, 0.0)
    rough = replace(log, rods=tuple(replace(one, dot_error_m=error_m) for one in log.rods))
    [told] = [one.because for one in sheet_of(bore, rough).stops if one.when == HEAD_NOT_KNOWN]
    assert told.startswith("The dot of rod 9 may be ")
    # A dot that is measured, and the head is known again.
    measured = replace(rough, rods=(*rough.rods[:-1], log.rods[-1]))
    assert HEAD_NOT_KNOWN not in [one.when for one in sheet_of(bore, measured).stops]


def test_a_head_below_the_bottom_of_the_watch_hole_that_the_next_rod_meets_stops(bore):
    bore.job.test_holes.update(dug_depth_m=1.5)
    when = RULE_OF[StopCode.HEAD_BELOW_HOLE].when
    near = log_of(*DOWN, *(0.0,) * 10)
    sheet = sheet_of(bore, near)
    assert sheet.rows[0].rods == "in the next rod"
    assert when in sheet.answer.lines
    assert when not in sheet_of(bore, log_of(*DOWN, *(0.0,) * 8)).answer.lines
    bore.job.test_holes.update(dug_depth_m=2.5)
    assert when not in sheet_of(bore, near).answer.lines


def test_the_shallowest_of_two_watch_holes_decides(bore):
    bore.job.test_holes.update(dug_depth_m=1.5)
    hole = bore.job.test_holes.get()
    factories.TestHoleFactory(
        job=bore.job,
        mark=hole.mark,
        ref="H-2",
        position=hole.position,
        depth_to_top_m=hole.depth_to_top_m,
        dug_depth_m=3.0,
    )
    when = RULE_OF[StopCode.HEAD_BELOW_HOLE].when
    assert when in sheet_of(bore, log_of(*DOWN, *(0.0,) * 10)).answer.lines


def test_a_depth_that_was_not_read_makes_the_place_less_sure(bore):
    read, unread_ = log_of(*DOWN), log_of(*DOWN, last={"depth_m": None})
    assert (
        "No depth was read at this rod: it is worked out from the pitch."
        in sheet_of(bore, unread_).head.lines
    )
    assert sheet_of(bore, read).head.lines[1] != sheet_of(bore, unread_).head.lines[1]


def test_a_closed_out_bore_has_nothing_ahead(bore):
    sheet = ahead_sheet(assessed_of(bore), log_of(*DOWN), release_words=("Over.",), is_closed_out=True)
    assert sheet.advice is Advice.DONE


def test_past_the_last_line_and_at_the_exit_it_says_so(bore):
    length = bore.alignment_length_m
    rods = int(length / ROD_M) + 1
    sheet = sheet_of(bore, log_of(*(0.0,) * rods, depths=0.2))
    assert sheet.coming.large == "The exit"


def test_a_head_that_points_away_from_the_plan_stops(bore):
    sheet = sheet_of(bore, log_of(*DOWN, last={"heading_rad": 0.0}))
    assert sheet.advice is Advice.STOP
    assert "The head points away from the plan." in sheet.answer.lines


def test_records_of_which_no_figure_can_be_computed_stop():
    sheet = unread("The job has no tolerance zone.")
    assert sheet.advice is Advice.STOP
    assert sheet.stops[0].because == "The job has no tolerance zone."


def test_a_line_that_was_never_painted_when_the_bore_was_planned_is_met_all_the_same(bore):
    mark = factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=factories.line((70, -15), (70, 15))
    )
    assert mark.ref in [row.line.rsplit(" ", 1)[1] for row in sheet_of(bore, log_of(*DOWN)).rows]


def test_a_rule_that_several_lines_set_off_is_told_once_with_each_of_them():
    first, other = Stop("When", "Stop.", "M1."), Stop("Else", "Stop.", "")
    told = told_once([first, other, replace(first, because="M2."), first])
    assert told == (replace(first, because="M1.\nM2."), other)


@pytest.mark.parametrize(("off_rad", "towards"), [(0.05, "left"), (-0.05, "right"), (0.01, "")])
def test_a_head_that_points_off_the_plan_is_told_which_way_to_turn(bore, off_rad, towards):
    """What is told ahead is of a way that is turned back beside the plan, so the crew has to be told to."""
    log = log_of(*DOWN, last={"heading_rad": 0.5 * np.pi + off_rad})
    answer = sheet_of(bore, log).answer
    turn = f", and turn {towards}" if towards else ""
    assert answer.large == f"Drill on by the plan{turn}"
    told = [line for line in answer.lines if "off the plan" in line]
    assert told == (
        [f"It points 3° off the plan. Turn {towards} with rod 7: what is told ahead counts on it."]
        if turn
        else []
    )


def test_a_turn_to_the_side_does_not_wait_for_the_rod_by_which_the_pitch_must_change(bore):
    high = log_of(*(-0.1,) * 3, *(0.0,) * 6, last={"heading_rad": 0.5 * np.pi + 0.05})
    answer = sheet_of(bore, high).answer
    assert re.fullmatch(r"Steer down by rod 1\d, and turn left now", answer.large)
    assert (
        "It points 3° off the plan. Turn left with rod 10: what is told ahead counts on it." in answer.lines
    )


def test_a_crew_on_plan_is_not_stopped_half_past_a_line(bore):
    """There the line looks like one alongside, of which more is asked than the plan leaves."""
    ClearanceRequirement.objects.filter(job=bore.job).update(alongside_m=2.0)
    at_line = {"length_m": 0.9, "dot": factories.point(49.6, 0.0).coords}
    log = log_of(*DOWN, *(0.0,) * 11, last=at_line)
    [crossing] = as_drilled(assessed_of(bore).scene, log, timezone.now()).crossings
    assert not crossing.is_whole
    assert (crossing.crossing.clearance.kind, crossing.crossing.required_m) == ("crossing", 0.305)
    assert sheet_of(bore, log).stops == ()
    ClearanceRequirement.objects.filter(job=bore.job).update(crossing_m=2.0)
    assert sheet_of(bore, log).advice is Advice.STOP
