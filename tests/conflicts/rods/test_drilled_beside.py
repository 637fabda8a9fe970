"""How far what was drilled is off the plan: the most and at the head, told only of what was read."""

from dataclasses import replace

import pytest

from conflicts.assess import compute
from conflicts.drilled_beside import drilled_beside
from conflicts.gather import gather
from conflicts.rod_log import PULL_BACK, LocatingError, RodInput, RodLog, WithdrawalInput, WithdrawnRods
from tests import factories

AT = factories.PLANNED_START_AT
STATED = LocatingError(0.05, 0.05)


def rod(number, **values):
    plain = RodInput(
        rod_id=f"r{number}", after_id=f"r{number - 1}" if number > 1 else None, number=number, length_m=3.0,
        pitch_ratio=0.0, depth_m=None, roll_rad=None, heading_rad=None, dot=None, dot_error_m=None,
        confirmed=(), remarks="", logged_at=AT, logged_by="R. Pell",
    )  # fmt: skip
    return replace(plain, **values)


def dot(east_m, north_m):
    return factories.point(east_m, north_m).coords


@pytest.fixture
def scene(db):
    """A bore of 100 m to the east, from the surface to 2 m at 20 m."""
    bore = factories.small_job().bores.get()
    return compute(gather([bore.pk])[bore.pk]).scene


def test_the_most_and_the_head_are_told_apart_with_their_rods(scene):
    rods = (
        rod(1, depth_m=0.5, dot=dot(3, -0.1)),
        rod(2, depth_m=0.4, dot=dot(6, 0.25)),
        rod(3, depth_m=0.95, dot=dot(9, 0.02)),
    )
    largest, head = drilled_beside(scene, RodLog(STATED, rods)).off_plan
    # The plan falls 10 cm a metre: 0.3, 0.6 and 0.9 m.
    assert (largest.depth.rod.number, largest.depth.deeper_m) == (1, pytest.approx(0.2, abs=0.002))
    assert (largest.plan.rod.number, largest.plan.right_m) == (2, pytest.approx(-0.25, abs=0.002))
    assert head.name == "At the head, rod 3"
    assert (head.depth.deeper_m, head.plan.right_m) == pytest.approx((0.05, -0.02), abs=0.002)


def test_what_was_not_read_is_no_deviation(scene):
    rods = (rod(1, depth_m=0.3), rod(2), rod(3))
    largest, head = drilled_beside(scene, RodLog(STATED, rods)).off_plan
    assert largest.depth.rod.number == 1
    assert (largest.plan, head.depth, head.plan) == (None, None, None)


def test_an_abandoned_leg_is_told_by_its_own_rods_alone(scene):
    before = (rod(1, depth_m=0.9), rod(2, depth_m=0.6))
    leg = (rod(3, depth_m=0.8), rod(4, depth_m=0.9))
    taken = WithdrawalInput("r3", PULL_BACK, "a stone", AT, "R. Pell")
    beside = drilled_beside(scene, RodLog(STATED, before, (WithdrawnRods(taken, before, leg),)))
    assert [path.name for path in beside.paths] == ["Leg 1", ""]
    assert beside.paths[0].begins_m == pytest.approx(beside.drilled.head.own_station_m, abs=0.01)
    *_, of_leg = beside.off_plan
    assert of_leg.name == "Leg 1, pulled back"
    assert (of_leg.depth.rod.number, of_leg.depth.deeper_m) == (4, pytest.approx(-0.3, abs=0.01))


def test_readings_that_lead_nowhere_are_told_and_the_plan_stands(scene):
    turned = (rod(1, heading_rad=0.0), rod(2, heading_rad=3.141592653589793))
    beside = drilled_beside(scene, RodLog(STATED, turned))
    assert beside.drilled is None
    assert "turns back" in beside.problem
    assert beside.is_any


def test_a_bore_without_rods_tells_nothing(scene):
    beside = drilled_beside(scene, RodLog(STATED))
    assert (beside.is_any, beside.paths, beside.off_plan) == (False, [], [])
