"""Whoever does what stands large on the sheet never comes to a stop that was not there."""

import re

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from conflicts.ahead_sheet import Advice, ahead_sheet
from conflicts.models import Bore
from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import ROD_M, assessed_of, log_of, sheet_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# What the factories' rig turns over a rod, rad.
MOST_RAD = ROD_M / 30.48
# Down to 2 m and level, while the plan comes up past station 44.
LEVEL = (-0.1,) * 6 + (0.0,) * 8


@pytest.fixture
def bore():
    """With holes dug so deep that no head reads below one."""
    bore = bore_of_today()
    bore.job.test_holes.update(dug_depth_m=6.0)
    return bore


def planned_as(bore, stations_m, depths_m):
    Bore.objects.filter(pk=bore.pk).update(
        profile_stations_m=[0.0, *stations_m, bore.alignment_length_m], profile_values_m=[0.0, *depths_m, 0.0]
    )


def second_line(bore, station_m, depth_m):
    mark = factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        geometry=factories.line((station_m, -15), (station_m, 15)),
    )
    factories.TestHoleFactory(
        job=bore.job,
        mark=mark,
        position=factories.point(station_m, 0),
        depth_to_top_m=depth_m,
        dug_depth_m=6.0,
    )


def bent(before, ratio):
    """The pitch that is asked for, or as near to it as the rig bends in a rod."""
    turn = np.clip(np.arctan(ratio) - np.arctan(before), -MOST_RAD, MOST_RAD)
    return float(np.tan(np.arctan(before) + turn))


def followed(sheet, before):
    """The pitch at the end of the next rod of somebody who does what the sheet says."""
    large, told = sheet.answer.large, " ".join(sheet.answer.lines)
    if large == "Hold the pitch" or " by rod " in large:
        return before
    asked = re.search(r"The plan has (\S+) %|With (\S+) % there", told)
    if asked:
        return bent(before, float((asked[1] or asked[2]).replace("\N{MINUS SIGN}", "-")) / 100.0)
    return bent(before, 1.0 if "up" in large else -1.0)


def test_the_plans_pitch_is_not_told_where_it_would_lose_a_line(bore):
    planned_as(bore, (22.5, 44.0, 64.0), (2.25, 2.25, 0.25))
    name = bore.job.marks.get().ref
    sheet = sheet_of(bore, log_of(*LEVEL))
    assert (sheet.advice, sheet.answer.large) == (Advice.GO_ON, "Hold the pitch")
    assert re.fullmatch(
        rf"The plan's 10\.0 % at the end of rod 15 would lose .*{name}\.", sheet.answer.lines[0]
    )
    assert sheet_of(bore, log_of(*LEVEL, 0.1)).advice is Advice.STOP
    assert sheet_of(bore, log_of(*LEVEL, 0.0)).advice is not Advice.STOP


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=10, deadline=None)
@given(data=st.data())
def test_whoever_follows_the_large_words_comes_to_no_stop(bore, data):
    if bore.job.marks.count() == 1:
        second_line(bore, 56.0, 3.0)
    deep_m = data.draw(st.sampled_from([2.2, 2.6, 3.2]), label="depth of the second line")
    bore.job.test_holes.filter(position=factories.point(56.0, 0)).update(depth_to_top_m=deep_m)
    first_m = data.draw(st.floats(15.0, 30.0), label="first station")
    depth_m = data.draw(st.floats(1.6, 2.6), label="planned depth")
    up_m = data.draw(st.floats(40.0, 60.0), label="station at which the plan comes up")
    planned_as(bore, (first_m, up_m, up_m + 20.0), (depth_m, depth_m, 0.3))
    assessed = assessed_of(bore)
    pitches = [-0.1] * data.draw(st.integers(3, 8), label="rods down")
    pitches += [0.0] * data.draw(st.integers(0, 8), label="rods level")
    told = []
    while len(pitches) < 26:
        sheet = ahead_sheet(assessed, log_of(*pitches), release_words=None)
        if sheet.advice is Advice.STOP:
            assert not told, (pitches, told, sheet.stops)
            break
        told.append(sheet.answer)
        pitches.append(followed(sheet, pitches[-1]))
