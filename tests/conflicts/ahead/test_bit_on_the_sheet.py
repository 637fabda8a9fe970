"""The sheet for the rig steers from the bit: recorded with the rig, else taken to be 3 ft ahead."""

import numpy as np
import pytest
from django.urls import reverse

from conflicts.ahead_sheet import Advice
from conflicts.assess import compute
from conflicts.bit_ahead import USUAL_LEAD_M, bit_ahead
from conflicts.drilled import drilled_path
from conflicts.engine.frame import chainages_m
from conflicts.gather import gather
from conflicts.models import Bore
from conflicts.way_ahead import rig_of, way_ahead
from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import DOWN, log_of, sheet_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db
FOOT_M = 0.3048


@pytest.fixture
def bore():
    return bore_of_today()


def led(bore, lead_m):
    Bore.objects.filter(pk=bore.pk).update(bit_lead_m=lead_m)
    return bore


def head_of(bore, log):
    """The scene of a bore, the joint that its rods end at, and its rig."""
    scene = compute(gather([bore.pk])[bore.pk]).scene
    return scene, drilled_path(scene, log).head, rig_of(scene.inputs.rig)


def test_where_no_lead_is_recorded_the_bit_is_three_feet_ahead_and_the_sheet_says_so(bore):
    assert pytest.approx(3.0 * FOOT_M) == USUAL_LEAD_M
    log = log_of(*DOWN)
    [told] = [one for one in sheet_of(bore, log).head.lines if one.startswith("The bit")]
    assert told.startswith(
        "The bit is taken to be 3 ft 0 in ahead of the antenna, for that is not recorded: station "
    )
    scene, joint, rig = head_of(bore, log)
    assert rig.bit_lead_m == USUAL_LEAD_M
    # Straight on by the pitch that was read, 10 % down.
    bit = bit_ahead(scene, joint)
    run_m = USUAL_LEAD_M / np.hypot(1.0, 0.1)
    assert bit.station_m == pytest.approx(joint.station_m + run_m, abs=1e-6)
    assert bit.depth_m == pytest.approx(joint.depth_m + 0.1 * run_m, abs=1e-6)


def test_a_recorded_lead_counts_and_the_sheet_says_where_the_bit_is(bore):
    sheet = sheet_of(led(bore, 1.2192), log_of(*DOWN))
    assert any(one.startswith("The bit is 4 ft 0 in ahead of the antenna: ") for one in sheet.head.lines)
    at_antenna = sheet_of(led(bore, 0.0), log_of(*DOWN))
    assert any(one.startswith("The bit is at the antenna: ") for one in at_antenna.head.lines)


def test_the_farther_ahead_the_bit_is_the_sooner_the_steering_must_begin(bore):
    # Level at 1 m: M at station 50 must be passed under.
    high = log_of(*(-0.1,) * 3, *(0.0,) * 6)
    last = [
        int(sheet_of(led(bore, lead_m), high).answer.large.rsplit(" ", 1)[1])
        for lead_m in (0.0, 1.0, 2.5, 3.05, 4.0)
    ]
    assert last == sorted(last, reverse=True)
    assert last[0] > last[3]


def test_what_the_bit_has_left_behind_it_cannot_steer_round_any_more(bore):
    """Rods with which a line can just be passed from the antenna stop once the bit is known to be ahead."""
    high = (-0.1,) * 3
    for rods in range(4, 16):
        log = log_of(*high, *(0.0,) * rods)
        if sheet_of(led(bore, 3.05), log).advice is Advice.STOP:
            break
    assert sheet_of(led(bore, 0.0), log).advice is not Advice.STOP


def test_the_way_ahead_goes_straight_on_to_the_bit_and_is_turned_back_from_there(bore):
    led(bore, 2.0)
    # Heading 10 degrees to the right of the plan, which runs east.
    right = np.radians(100.0)
    scene, joint, rig = head_of(bore, log_of(*DOWN, last={"heading_rad": right}))
    way = way_ahead(scene, joint, rig)
    plan = way.path.points_m[:, :2]
    bit = bit_ahead(scene, joint)
    np.testing.assert_allclose(plan[0], joint.point_m[:2], atol=1e-9)
    np.testing.assert_allclose(plan[1], bit.point_m[:2], atol=1e-9)
    run_m = 2.0 / np.hypot(1.0, 0.1)
    assert way.path.stations_m[1] == pytest.approx(run_m, abs=1e-6)
    step = plan[1] - plan[0]
    assert np.arctan2(step[0], step[1]) == pytest.approx(joint.heading_rad, abs=1e-9)
    # It turns on half of the bend from the bit on, and is beside the plan after that.
    steps = np.diff(plan, axis=0)
    headings = np.arctan2(steps[:, 0], steps[:, 1])
    ahead = scene.plan_m[1] - scene.plan_m[0]
    planned = np.arctan2(ahead[0], ahead[1])
    assert headings[-1] == pytest.approx(planned, abs=1e-6)
    off = joint.heading_rad - planned
    assert off == pytest.approx(np.radians(10.0), abs=1e-3)
    turned_m = chainages_m(plan)[np.flatnonzero(np.abs(headings - planned) < 1e-6)[0]] - run_m
    assert turned_m == pytest.approx(2.0 * rig.bend_radius_m * off, rel=0.02)
    # What it turns is taken from the pitch from the bit on, not before.
    assert min(turn.from_m for turn in way.level_turns) == pytest.approx(run_m, abs=1e-6)


def test_a_bit_past_the_exit_leaves_what_lies_before_it_ahead_of_the_antenna(bore):
    led(bore, 10.0)
    rods = int((bore.alignment_length_m - 5.0) / 3.048)
    scene, joint, rig = head_of(bore, log_of(*(0.0,) * rods, depths=0.5))
    assert 0.0 < scene.path.length_m - joint.station_m < 10.0
    way = way_ahead(scene, joint, rig)
    assert way.path.length_m == pytest.approx(10.0, abs=1e-6)
    line = factories.line((bore.alignment_length_m - 1.0, -15), (bore.alignment_length_m - 1.0, 15))
    mark = factories.MarkFactory(job=bore.job, operator=bore.job.operators.get(), geometry=line)
    told = sheet_of(bore, log_of(*(0.0,) * rods, depths=0.5))
    assert [row.rods for row in told.rows if row.line.endswith(mark.ref)] == ["now"]


def test_the_lead_is_entered_with_the_rig_and_shown(client, bore):
    client.force_login(factories.person_in_role("Coordinator", bore.job.organisation))
    page = client.get(reverse("conflicts:bore-edit", args=[bore.pk]))
    assert page.context["form"]["bit_lead_m"].label == "From the antenna to the bit"
    led(bore, 0.9144)
    facts = client.get(reverse("conflicts:bore", args=[bore.pk])).content.decode()
    assert "<dt>Antenna to bit</dt><dd>3 ft" in facts
