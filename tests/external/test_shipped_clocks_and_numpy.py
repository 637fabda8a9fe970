"""The shipped clocks over two years of calls, beside numpy's count of business days.

numpy.busday_offset counts the days, and the `holidays` library shifts the holidays that fall on a weekend,
which the clocks do by their own rule.
"""

import json
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from holidays import country_holidays

from locates.one_call.calendar import day_of
from locates.one_call.clock import Call, TicketDates, ticket_dates
from locates.one_call.clock_reader import read_clock

RULES = Path(__file__).resolve().parents[2] / "locates" / "one_call" / "clocks.json"
CLOCKS = {code: read_clock(value) for code, value in json.loads(RULES.read_text(encoding="utf-8")).items()}
SURE = sorted(code for code, clock in CLOCKS.items() if clock.notice and clock.notice.grounds.is_sure)
ZONE = ZoneInfo("America/New_York")
DAYS = [date(2026, 1, 1) + timedelta(days=n) for n in range(730)]


def dates_of(code: str, called: datetime, kind: str = "routine") -> TicketDates:
    return ticket_dates(CLOCKS[code], Call(kind=kind, called_at=called, time_zone=str(ZONE)))


@pytest.mark.parametrize("code", sorted(CLOCKS))
def test_no_published_holiday_is_taken_for_a_certain_working_day(code):
    years = range(2026, 2046)
    published = country_holidays("US", years=years) + country_holidays("US", subdiv=code, years=years)
    assert len(published) > 200
    for day, name in published.items():
        assert not day_of(CLOCKS[code].working_days, day).is_working, (day, name)


@pytest.mark.parametrize(("code", "opens_at"), [("OR", time(0)), ("IN", time(7))])
def test_two_full_days_after_the_call_are_those_of_numpy_wherever_there_is_a_date(code, opens_at):
    zone = ZoneInfo("America/Indiana/Indianapolis") if code == "IN" else ZONE
    years = range(2025, 2029)
    off = sorted({*country_holidays("US", years=years), *country_holidays("US", subdiv=code, years=years)})
    compared = 0
    for day in DAYS:
        last = np.busday_offset(day, 2, roll="backward", holidays=off)
        # Oregon: when two days have passed. Indiana: 07:00 on the next full day, itself a working day.
        starts = last + 1 if code == "OR" else np.busday_offset(last, 1, holidays=off)
        found = dates_of(code, datetime.combine(day, time(14), tzinfo=zone)).legal_start_at.at
        if found is not None:
            assert found == datetime.combine(starts.item(), opens_at, tzinfo=zone).astimezone(UTC), day
            compared += 1
    assert compared > 700


def test_new_jersey_has_forty_five_days_of_numpy_wherever_it_has_a_date():
    years = range(2025, 2029)
    off = sorted({*country_holidays("US", years=years), *country_holidays("US", subdiv="NJ", years=years)})
    compared = 0
    for day in DAYS[::3]:
        found = dates_of("NJ", datetime.combine(day, time(14), tzinfo=ZONE)).expires_at.at
        if found is not None:
            last = np.busday_offset(day, 45, roll="backward", holidays=off).item()
            assert found.astimezone(ZONE) == datetime.combine(last, time(23, 59), tzinfo=ZONE), day
            compared += 1
    assert compared > 60


@pytest.mark.parametrize("code", SURE)
def test_over_two_years_no_ticket_ends_before_it_starts_and_no_renewal_in_time_leaves_a_gap(code):
    before = None
    for day in DAYS[::17]:
        called = datetime.combine(day, time(8, 30), tzinfo=ZONE)
        found = dates_of(code, called)
        starts, ends, renewed = found.legal_start_at.at, found.expires_at.at, found.renew_by.at
        if starts is not None:
            assert starts > called
            assert before is None or starts >= before
            assert ends is None or ends > starts
            before = starts
        if renewed is not None:
            assert called <= renewed < ends
            following = dates_of(code, renewed, kind="renewal").legal_start_at.at
            assert following is not None, day
            assert following <= ends, day
    assert before is not None
