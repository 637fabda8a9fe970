"""Where no planned way leads on from the head: at the exit, or with nothing looked at beyond."""

from dataclasses import replace

import numpy as np
import pytest

from conflicts.ahead_sheet import Advice
from conflicts.models import Bore
from conflicts.plan_end import LOOK_BEYOND, PLAN_ENDS
from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import ROD_M, log_of, sheet_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# Down to 1.98 m, level past M, and up again at the exit: the plan ends at the ground at station 100.
DOWN = (-0.1,) * 6
UP = (0.1,) * 7


@pytest.fixture
def bore():
    return bore_of_today()


def test_a_head_that_never_came_up_is_not_at_the_exit_where_the_plan_ends(bore):
    sheet = sheet_of(bore, log_of(*DOWN, *(0.0,) * 27))
    assert sheet.advice is Advice.STOP
    [stop] = [one for one in sheet.stops if one.when == PLAN_ENDS]
    assert stop.then == LOOK_BEYOND
    # 15 cm of steering and 5 cm stated at the surface are 7.9 in.
    assert stop.because == (
        "The head is 6 ft 6 in under the planned end; allowed is 7 in. Pull back 4 rods: from the end of "
        "rod 29 the exit can be met."
    )
    assert sheet.coming.large == "Not known"


def test_a_head_that_came_up_as_planned_is_at_the_exit(bore):
    sheet = sheet_of(bore, log_of(*DOWN, *(0.0,) * 20, *UP))
    assert (sheet.advice, sheet.answer.large) == (Advice.DONE, "At the exit")


def test_a_head_that_points_away_at_the_end_of_the_plan_is_not_at_the_exit(bore):
    log = log_of(*DOWN, *(0.0,) * 20, *UP)
    turned = replace(log.rods[-1], heading_rad=np.pi)
    sheet = sheet_of(bore, replace(log, rods=(*log.rods[:-1], turned)))
    assert sheet.advice is Advice.STOP
    assert "The head points away from the plan." in sheet.answer.lines


def test_a_head_under_the_ground_a_rod_past_the_planned_end_in_a_pit_is_not_at_the_exit(bore):

    Bore.objects.filter(pk=bore.pk).update(
        profile_stations_m=[0.0, 20.0, bore.alignment_length_m], profile_values_m=[0.0, 2.0, 2.0]
    )
    at_the_end = log_of(*DOWN, *(0.0,) * 27)
    assert sheet_of(bore, at_the_end).advice is Advice.DONE
    beyond = [
        replace(rod, dot=factories.point(100.0 + ROD_M * 1.5, 0.0).coords) if rod.number == 33 else rod
        for rod in at_the_end.rods
    ]
    sheet = sheet_of(bore, replace(at_the_end, rods=tuple(beyond)))
    [stop] = [one for one in sheet.stops if one.when == PLAN_ENDS]
    assert stop.because == (
        "The head is 15 ft 0 in past the planned end, below the ground. Pull back 1 rod: from the "
        "end of rod 32 the exit can be met."
    )
