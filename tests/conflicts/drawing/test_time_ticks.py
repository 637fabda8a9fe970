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


def test_weeks_begin_on_monday_at_midnight_also_across_a_change_of_the_clocks():
    _, _, ticks = time_ticks(utc(2026, 10, 20, 15), utc(2026, 11, 12, 15), EASTERN)
    assert words(ticks) == ["Oct 19 2026", "Oct 26 2026", "Nov 2 2026", "Nov 9 2026", "Nov 16 2026"]
    assert {one.at.astimezone(ZoneInfo(EASTERN)).hour for one in ticks} == {0}
    assert ticks[0].at.hour == 4
    assert ticks[-1].at.hour == 5


@pytest.mark.parametrize(
    ("days", "most", "expected"),
    [
        (5, 9, ["Mar 3 2026", "Mar 4 2026", "Mar 5 2026"]),
        (100, 9, ["Mar 2 2026", "Mar 16 2026", "Mar 30 2026"]),
        (200, 9, ["Mar 2026", "Apr 2026", "May 2026"]),
        (400, 9, ["Mar 2026", "May 2026", "Jul 2026"]),
        (100, 4, ["Mar 2026", "May 2026", "Jul 2026"]),
        (400, 4, ["Jan 2026", "Jul 2026", "Jan 2027"]),
        (2000, 9, ["2026 ", "2027 ", "2028 "]),
        (9000, 9, ["2025 ", "2030 ", "2035 "]),
    ],
)
def test_a_longer_time_has_ticks_where_days_weeks_months_and_years_begin(days, most, expected):
    first = utc(2026, 3, 3, 15)
    _, _, ticks = time_ticks(first, first + timedelta(days=days), EASTERN, most)
    assert words(ticks)[:3] == expected


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
@given(
    first=st.datetimes(datetime(2001, 1, 1), datetime(2049, 1, 1)),
    seconds=st.integers(0, 10**9),
    most=st.integers(3, 12),
)
def test_the_axis_holds_both_moments_and_its_ticks_rise(zone, first, seconds, most):
    first = first.replace(tzinfo=UTC)
    last = first + timedelta(seconds=seconds)
    begin, end, ticks = time_ticks(first, last, zone, most)
    assert begin <= first <= last <= end
    assert begin < end
    assert [one.at for one in ticks] == sorted({one.at for one in ticks})
    assert 2 <= len(ticks) <= most + 1
