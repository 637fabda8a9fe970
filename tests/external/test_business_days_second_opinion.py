"""Counts of days and hours beside numpy's business days and python-dateutil's recurrences (RFC 5545)."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import islice
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from dateutil import rrule
from hypothesis import given, settings
from hypothesis import strategies as st

from locates.one_call.calendar import day_of
from locates.one_call.clock_reader import read_clock
from locates.one_call.clock_terms import End, Term
from locates.one_call.counting import Walk, count_from
from tests.one_call_clocks import EASTERN, clock_json

WORKING_DAYS = read_clock(clock_json()).working_days
ZONE = ZoneInfo(EASTERN)
DAYS = st.dates(date(2020, 1, 1), date(2035, 12, 31))


def federal_holidays(first: int, last: int) -> list[date]:
    """The days of 5 USC 6103 by dateutil's recurrences, on the weekday on which they are observed."""
    start = datetime(first, 1, 1)
    rules = [
        {"bymonth": 1, "bymonthday": 1},
        {"bymonth": 1, "byweekday": rrule.MO(3)},
        {"bymonth": 2, "byweekday": rrule.MO(3)},
        {"bymonth": 5, "byweekday": rrule.MO(-1)},
        {"bymonth": 6, "bymonthday": 19, "dtstart": datetime(max(first, 2021), 1, 1)},
        {"bymonth": 7, "bymonthday": 4},
        {"bymonth": 9, "byweekday": rrule.MO(1)},
        {"bymonth": 10, "byweekday": rrule.MO(2)},
        {"bymonth": 11, "bymonthday": 11},
        {"bymonth": 11, "byweekday": rrule.TH(4)},
        {"bymonth": 12, "bymonthday": 25},
    ]
    found = []
    for rule in rules:
        for day in rrule.rrule(rrule.YEARLY, until=datetime(last, 12, 31), **({"dtstart": start} | rule)):
            found.append((day + timedelta(days={5: -1, 6: 1}.get(day.weekday(), 0))).date())
    return sorted(found)


HOLIDAYS = federal_holidays(2018, 2038)


def test_the_federal_holidays_are_those_of_the_code():
    # Source: 5 USC 6103(a), and 6103(b) with Executive Order 11582 for those that fall on a weekend.
    days = [date(2020, 1, 1) + timedelta(days=n) for n in range(16 * 365)]
    off = [day for day in days if day.weekday() < 5 and not day_of(WORKING_DAYS, day).is_working]
    assert off == [day for day in HOLIDAYS if days[0] <= day <= days[-1] and day.weekday() < 5]


@settings(deadline=None)
@given(day=DAYS, count=st.integers(1, 60))
def test_working_days_after_a_day_are_those_of_numpy(day, count):
    term = Term(count=count, unit="working days")
    found = count_from(
        datetime.combine(day, time(14, 10), tzinfo=ZONE), term, WORKING_DAYS, ZONE, later=False
    )
    assert found.last == np.busday_offset(day, count, roll="backward", holidays=HOLIDAYS).item()
    assert (
        np.busday_count(day + timedelta(days=1), found.last + timedelta(days=1), holidays=HOLIDAYS) == count
    )


@settings(deadline=None)
@given(day=DAYS, count=st.integers(1, 60))
def test_working_days_after_a_day_are_those_of_dateutil(day, count):
    weekdays = (rrule.MO, rrule.TU, rrule.WE, rrule.TH, rrule.FR)
    start = datetime.combine(day + timedelta(days=1), time())
    off = set(HOLIDAYS)
    working = (
        one for one in rrule.rrule(rrule.DAILY, dtstart=start, byweekday=weekdays) if one.date() not in off
    )
    term = Term(count=count, unit="working days", end=End(day="next", at=time()))
    found = count_from(datetime.combine(day, time(9), tzinfo=ZONE), term, WORKING_DAYS, ZONE, later=True)
    assert found.last == next(islice(working, count - 1, None)).date()
    assert found.at.date() == found.last + timedelta(days=1)


@settings(deadline=None)
@given(day=DAYS, count=st.integers(1, 30))
def test_days_counted_backward_leave_as_many_as_numpy_counts(day, count):
    found = Walk(WORKING_DAYS).back(day, count)
    between = np.busday_count(found + timedelta(days=1), day + timedelta(days=1), holidays=HOLIDAYS)
    assert between == count
    assert np.busday_count(found + timedelta(days=2), day + timedelta(days=1), holidays=HOLIDAYS) == count - 1


@settings(deadline=None, max_examples=40)
@given(at=st.datetimes(datetime(2024, 1, 1), datetime(2030, 1, 1)), count=st.integers(1, 130))
def test_hours_on_working_days_are_those_counted_one_minute_at_a_time(at, count):
    start = at.replace(second=0, microsecond=0, tzinfo=UTC).astimezone(ZONE)
    term = Term(count=count, unit="hours")
    end = count_from(start, term, WORKING_DAYS, ZONE, later=True).at.astimezone(UTC)
    # A brute-force reading, in steps that meet every midnight.
    left, now = timedelta(hours=count), start.astimezone(UTC)
    step = timedelta(hours=1) if now.minute == 0 else timedelta(minutes=1)
    while left > timedelta(0):
        if day_of(WORKING_DAYS, now.astimezone(ZONE).date()).is_working:
            left -= step
        now += step
    assert end == now


@pytest.mark.parametrize("year", [2027, 2028])
def test_leap_years_count_as_numpy_counts_them(year):
    day = date(year, 2, 24)
    term = Term(count=4, unit="working days")
    found = count_from(datetime.combine(day, time(9), tzinfo=ZONE), term, WORKING_DAYS, ZONE, later=False)
    assert found.last == np.busday_offset(day, 4, holidays=HOLIDAYS).item()
