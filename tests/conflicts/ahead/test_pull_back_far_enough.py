"""The rods to pull back that the sheet tells: enough, also for a line that is met elsewhere from there."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from conflicts.crossings_ahead import Drilling, crossings_ahead
from conflicts.way_ahead import Planned, rig_of, way_ahead
from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import ROD_M, STATED, assessed_of, log_of, sheet_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# The line is drawn so far to either side of where it meets the bore, m.
HALF_M = 25.0


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def assessed_by_angle():
    """The bore as assessed with the line at each angle that was asked for: nothing else changes."""
    return {}


def turn_line(bore, angle_deg):
    """M turned about the crossing point, from the way of the bore."""
    east, north = HALF_M * np.cos(np.radians(angle_deg)), HALF_M * np.sin(np.radians(angle_deg))
    bore.job.marks.update(geometry=factories.line((50 - east, -north), (50 + east, north)))


def drifting(pitches, headings_rad):
    """A log with headings to the right of the alignment, and dots where they lead."""
    log, east, north, before = log_of(*pitches), 0.0, 0.0, headings_rad[0]
    rods = []
    for rod, heading in zip(log.rods, headings_rad, strict=True):
        middle, before = 0.5 * (before + heading), heading
        east += ROD_M * np.cos(middle)
        north -= ROD_M * np.sin(middle)
        rods.append(
            replace(rod, heading_rad=float(0.5 * np.pi + heading), dot=factories.point(east, north).coords)
        )
    return replace(log, rods=tuple(rods))


def lost_line(assessed, log):
    """The line ahead that can no longer be passed as planned, as the sheet looks at it, if any."""
    made = assessed.drilled_by(log)
    rig = rig_of(assessed.scene.inputs.rig)
    planned = Planned(assessed.crossings, [one.required_m for one in assessed.crossings])
    drilling = Drilling(assessed.scene, planned, made.path, rig, STATED)
    ahead = crossings_ahead(drilling, way_ahead(assessed.scene, made.path.head, rig))
    return next((one for one in ahead if not one.outlook.aim.can_be_met), None)


def strayed(straight, turned, heading_rad):
    """Too high from the third rod on, along the alignment at first and then off it."""
    pitches = (-0.1,) * 3 + (0.0,) * (straight + turned - 3)
    return drifting(pitches, [0.0] * straight + [heading_rad] * turned)


@pytest.mark.parametrize(
    ("angle_deg", "straight", "turned", "heading_rad"),
    [(15, 8, 7, 0.06), (15, 9, 6, 0.1), (15, 10, 8, -0.06), (-30, 10, 7, 0.04), (90, 8, 7, 0.06)],
)
def test_pulled_back_as_far_as_is_told_an_oblique_line_stops_no_more(
    bore, angle_deg, straight, turned, heading_rad
):
    turn_line(bore, angle_deg)
    log = strayed(straight, turned, heading_rad)
    told = [one.because for one in sheet_of(bore, log).stops if "Pull back " in one.because]
    [rods] = {int(re.search(r"Pull back (\d+) rod", words)[1]) for words in told}
    again = sheet_of(bore, replace(log, rods=log.rods[:-rods]))
    assert [one.because for one in again.stops] == []


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40, deadline=None)
@given(
    angle_deg=st.sampled_from([-45, -30, -15, 10, 15, 20, 30, 75]),
    straight=st.integers(4, 10),
    turned=st.integers(0, 9),
    heading_rad=st.floats(-0.12, 0.12),
)
def test_from_where_the_told_rods_are_pulled_back_to_the_line_can_be_passed(
    bore, assessed_by_angle, angle_deg, straight, turned, heading_rad
):
    if angle_deg not in assessed_by_angle:
        turn_line(bore, angle_deg)
        assessed_by_angle[angle_deg] = assessed_of(bore)
    assessed, log = assessed_by_angle[angle_deg], strayed(straight, turned, heading_rad)
    lost = lost_line(assessed, log)
    if lost is not None and lost.pull_back is not None:
        assert lost.pull_back.rods > 0
        assert lost_line(assessed, replace(log, rods=log.rods[: -lost.pull_back.rods])) is None


def test_a_line_alongside_that_the_bore_would_not_meet_from_there_is_said_so(bore):
    mark = factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=factories.line((20, -2.0), (100, -2.0))
    )
    for east in (25, 45, 65):
        factories.TestHoleFactory(
            job=bore.job, mark=mark, position=factories.point(east, -2.0), depth_to_top_m=1.9, dug_depth_m=4.0
        )
    log = drifting((-0.1,) * 6 + (0.0,) * 5, [0.0] * 6 + [0.1] * 5)
    [told] = [
        one.because for one in sheet_of(bore, log).stops if mark.ref in one.because and "ull" in one.because
    ]
    found = re.search(r"Pull back (\d+) rods?: from there the bore would not meet it\.", told)
    assert found, told
    again = sheet_of(bore, replace(log, rods=log.rods[: -int(found[1])]))
    assert mark.ref not in " ".join([one.because for one in again.stops] + [row.line for row in again.rows])
