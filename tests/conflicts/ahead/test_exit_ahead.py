"""Before the exit: a head that can no longer come to it is stopped, and one that still can is told how."""

from dataclasses import replace

import numpy as np
import pytest

from conflicts.ahead_sheet import Advice
from conflicts.exit_and_lines import EXIT_LOST
from conflicts.models import Bore
from conflicts.plan_end import PLAN_ENDS
from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import ROD_M, log_of, sheet_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# Down to 1.98 m, level past M, and up again at the exit: the plan ends at the ground at station 100.
DOWN = (-0.1,) * 6
UP = (0.1,) * 7
# The last rod of a log of 33 ends half a metre before the planned end.
HALF_A_METRE_BEFORE = {"dot": factories.point(99.5, 0.0).coords}


@pytest.fixture
def bore():
    return bore_of_today()


def in_a_pit(bore):
    Bore.objects.filter(pk=bore.pk).update(
        profile_stations_m=[0.0, 20.0, bore.alignment_length_m], profile_values_m=[0.0, 2.0, 2.0]
    )


def moved_aside(log, right_m, from_rod=1):
    """Every rod from one on a way to the right of the alignment, which runs to the east."""
    rods, run_m = [], 0.0
    for rod in log.rods:
        run_m += ROD_M * np.cos(np.arctan(rod.pitch_ratio))
        beside = factories.point(min(run_m, 99.99), -right_m).coords
        rods.append(replace(rod, dot=beside) if rod.number >= from_rod else rod)
    return replace(log, rods=tuple(rods))


def stop_of(sheet, when):
    [stop] = [one for one in sheet.stops if one.when == when]
    return stop


def test_half_a_metre_before_the_end_a_head_far_below_it_is_stopped_with_rods_to_pull_back(bore):
    sheet = sheet_of(bore, log_of(*DOWN, *(0.0,) * 27, last=HALF_A_METRE_BEFORE))
    assert sheet.advice is Advice.STOP
    assert EXIT_LOST in sheet.answer.lines
    assert stop_of(sheet, EXIT_LOST).because == (
        "Whatever is steered, the hole may end 6 ft 6 in under the planned end; allowed is 7 in. Pull back "
        "4 rods: from the end of rod 29 the exit can be met."
    )


def test_half_a_metre_before_a_pit_a_head_far_above_the_planned_end_is_stopped(bore):
    in_a_pit(bore)
    up = (0.1,) * 5
    sheet = sheet_of(bore, log_of(*DOWN, *(0.0,) * 22, *up, last=HALF_A_METRE_BEFORE))
    assert sheet.advice is Advice.STOP
    assert " over the planned end; allowed is " in stop_of(sheet, EXIT_LOST).because


def test_half_a_metre_before_the_end_a_head_on_plan_is_not_stopped(bore):
    sheet = sheet_of(bore, log_of(*DOWN, *(0.0,) * 20, *UP, last=HALF_A_METRE_BEFORE))
    assert (sheet.advice, sheet.answer.large) == (Advice.GO_ON, "Drill on by the plan")


def test_a_head_too_far_to_one_side_just_before_the_end_is_stopped(bore):
    log = moved_aside(log_of(*DOWN, *(0.0,) * 20, *UP), 1.0)
    near = replace(log.rods[-1], dot=factories.point(99.5, -1.0).coords)
    sheet = sheet_of(bore, replace(log, rods=(*log.rods[:-1], near)))
    assert sheet.advice is Advice.STOP
    because = stop_of(sheet, EXIT_LOST).because
    # Half a metre on, 3 degrees for a heading that was not read are 2.6 cm more.
    assert because.startswith(
        "Whatever is steered, the hole may end 3 ft 5 in to the right of the planned end; allowed "
        "is 1 ft 1 in."
    )
    assert "Pull back " in because


@pytest.mark.parametrize("right_m", [0.5, -0.5])
def test_at_the_exit_looks_at_how_far_to_the_side_the_head_is(bore, right_m):
    log = log_of(*DOWN, *(0.0,) * 20, *UP)
    assert sheet_of(bore, moved_aside(log, 0.2)).advice is Advice.DONE
    sheet = sheet_of(bore, moved_aside(log, right_m))
    assert sheet.advice is Advice.STOP
    way = "right" if right_m > 0.0 else "left"
    because = stop_of(sheet, PLAN_ENDS).because
    # 30 cm of steering and 5 cm stated.
    assert because.startswith(
        f"The hole passes 1 ft 8 in to the {way} of the planned end; allowed is 1 ft 1 in."
    )


def test_a_rough_dot_gives_no_more_room_at_the_exit(bore):
    log = moved_aside(log_of(*DOWN, *(0.0,) * 20, *UP), 0.5)
    rough = tuple(replace(rod, dot_error_m=0.6) for rod in log.rods)
    assert sheet_of(bore, replace(log, rods=rough)).advice is Advice.STOP


def test_a_head_above_the_planned_end_in_a_pit_is_not_at_the_exit(bore):
    in_a_pit(bore)
    up = (0.1,) * 5
    sheet = sheet_of(bore, log_of(*DOWN, *(0.0,) * 22, *up))
    assert " over the planned end; allowed is " in stop_of(sheet, PLAN_ENDS).because


def test_where_the_plans_pitch_would_lose_the_exit_it_tells_to_steer_and_obeying_meets_it(bore):
    # Level at 1.98 m too long: the plan comes up from station 80 on.
    pitches = [*DOWN, *(0.0,) * 22]
    told = []
    for _ in range(9):
        sheet = sheet_of(bore, log_of(*pitches))
        assert sheet.advice is not Advice.STOP, sheet.stops
        if sheet.advice is Advice.DONE:
            break
        told.append(sheet.answer.large)
        if sheet.answer.large.startswith("Steer up now"):
            assert any("the exit must be met" in line for line in sheet.answer.lines)
            pitches.append(float(np.tan(np.arctan(pitches[-1]) + 0.9 * ROD_M / 30.48)))
        else:
            pitches.append(0.1 if sheet.answer.large == "Drill on by the plan" else pitches[-1])
    assert sheet.advice is Advice.DONE
    assert any(one.startswith("Steer up") for one in told)
