"""The ticks of a time axis: whole hours and midnights of a zone's clock, few enough to read."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.drawing.time_ticks import time_ticks

EASTERN = "America/New_York"


def utc(*parts):
    return datetime(*parts, tzinfo=UTC)


def words(ticks):
    return [f"{one.upper} {one.lower}" for one in ticks]


def test_a_day_of_drilling_has_ticks_by_the_hour():
    begin, end, ticks = time_ticks(utc(2026, 4, 21, 14, 10), utc(2026, 4, 21, 20, 40), "America/Los_Angeles")
    assert words(ticks)[:2] == ["7 am Apr 21", "8 am Apr 21"]
    assert (begin, end) == (utc(2026, 4, 21, 14), utc(2026, 4, 21, 21))


def test_a_month_has_its_ticks_at_midnight_also_across_a_change_of_the_clocks():
    _, _, ticks = time_ticks(utc(2026, 10, 20, 15), utc(2026, 11, 12, 15), EASTERN)
    assert words(ticks)[:3] == ["Oct 20 2026", "Oct 25 2026", "Oct 30 2026"]
    assert {one.at.astimezone(ZoneInfo(EASTERN)).hour for one in ticks} == {0}
    assert ticks[0].at.hour == 4
    assert ticks[-1].at.hour == 5


def test_one_moment_alone_has_an_axis_as_well():
    begin, end, ticks = time_ticks(utc(2026, 4, 21, 14), utc(2026, 4, 21, 14), "UTC")
    assert end - begin == timedelta(hours=1)
    assert len(ticks) == 2


def test_the_hour_that_the_clock_skips_stands_once():
    # Clocks go from 2 to 3 am on March 8, 2026 (15 U.S.C. 260a).
    _, _, ticks = time_ticks(utc(2026, 3, 8, 5, 30), utc(2026, 3, 8, 9, 30), EASTERN)
    assert [one.upper for one in ticks] == ["12 am", "1 am", "3 am", "4 am", "5 am", "6 am"]
    assert len({one.at for one in ticks}) == len(ticks)


@pytest.mark.parametrize("zone", [EASTERN, "America/Los_Angeles", "UTC", "Asia/Kathmandu"])
@given(first=st.datetimes(datetime(2001, 1, 1), datetime(2049, 1, 1)), seconds=st.integers(0, 10**9))
def test_the_axis_holds_both_moments_and_its_ticks_rise(zone, first, seconds):
    first = first.replace(tzinfo=UTC)
    last = first + timedelta(seconds=seconds)
    begin, end, ticks = time_ticks(first, last, zone)
    assert begin <= first <= last <= end
    assert begin < end
    assert [one.at for one in ticks] == sorted({one.at for one in ticks})
    assert len(ticks) <= 10
