"""The shipped clocks over two years of calls, beside numpy's count of business days.

numpy.busday_offset counts the days, and the `holidays` library shifts the holidays that fall on a weekend,
which the clocks do by their own rule.
"""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from holidays import country_holidays

from locates.one_call.calendar import day_of
from locates.one_call.calendar_terms import CentreDay
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


def off_days(code: str, *, doubtful: bool = False) -> list[date]:
    """Published holidays and what else may be one; with or without those that a clock has for doubtful."""
    days = [date(2025, 12, 1) + timedelta(days=n) for n in range(1000)]
    return [
        day
        for day in days
        if (found := day_of(CLOCKS[code].working_days, day)).holiday and (found.doubt is None or doubtful)
    ]


def test_the_days_left_out_of_a_start_are_all_that_are_published():
    years = range(2026, 2028)
    for code in ("OR", "AL", "NJ"):
        published = country_holidays("US", years=years) + country_holidays("US", subdiv=code, years=years)
        assert {day for day in published if day.weekday() < 5} <= set(off_days(code, doubtful=True))


@pytest.mark.parametrize(("code", "opens_at"), [("OR", time(0)), ("AL", time(7))])
def test_two_full_days_after_the_call_are_those_of_numpy_without_the_doubtful_days(code, opens_at):
    off, compared = off_days(code, doubtful=True), 0
    for day in DAYS:
        last = np.busday_offset(day, 2, roll="backward", holidays=off)
        # Oregon: when two days have passed. Alabama: 07:00 on the next day that counts.
        starts = last + 1 if code == "OR" else np.busday_offset(last, 1, holidays=off)
        found = dates_of(code, datetime.combine(day, time(14), tzinfo=ZONE)).legal_start_at.at
        assert found == datetime.combine(starts.item(), opens_at, tzinfo=ZONE).astimezone(UTC), day
        compared += 1
    assert compared == len(DAYS)


def test_new_jersey_has_forty_five_days_of_numpy_with_the_doubtful_days():
    off, everything = off_days("NJ"), off_days("NJ", doubtful=True)
    assert len(off) < len(everything)
    for day in DAYS[::3]:
        found = dates_of("NJ", datetime.combine(day, time(14), tzinfo=ZONE)).expires_at.at
        last = np.busday_offset(day, 45, roll="backward", holidays=off).item()
        assert found.astimezone(ZONE) == datetime.combine(last, time(23, 59), tzinfo=ZONE), day


@pytest.mark.parametrize("code", sorted(CLOCKS))
def test_over_two_years_all_dates_are_in_the_order_that_a_ticket_demands_and_no_renewal_leaves_a_gap(code):
    before = None
    for day in DAYS[::17]:
        called = datetime.combine(day, time(8, 30), tzinfo=ZONE)
        found = dates_of(code, called)
        starts, ends, renewed = found.legal_start_at.at, found.expires_at.at, found.renew_by.at
        latest, due = found.latest_start_at.at, found.response_due_at.at
        if starts is not None:
            assert starts > called
            assert before is None or starts >= before
            assert ends is None or ends > starts
            assert latest is None or latest >= starts
            before = starts
        assert due is None or due > called
        assert latest is None or called < latest
        assert latest is None or ends is None or latest <= ends
        if renewed is not None:
            assert called <= renewed < ends
            following = dates_of(code, renewed, kind="renewal").legal_start_at.at
            assert following is not None, day
            assert following <= ends, day
    assert (before is not None) == (code in SURE)


# Each doubtful day on its own, and all together, told by the centre to be a working day or none.
@pytest.mark.parametrize("code", ["AL", "CA", "CO", "KS", "NJ", "TN"])
def test_what_the_doubtful_days_turn_out_to_be_makes_no_start_later_and_no_end_sooner(code):
    clock, met = CLOCKS[code], 0
    for called_on in (date(2026, 11, 20), date(2026, 12, 21), date(2027, 6, 30)):
        called = datetime.combine(called_on, time(8, 30), tzinfo=ZONE)
        near = [called_on + timedelta(days=n) for n in range(70)]
        unsure = [day for day in near if day_of(clock.working_days, day).doubt is not None]
        met += len(unsure)
        found = dates_of(code, called)
        for told in ({}, *({day: True} for day in unsure), dict.fromkeys(unsure, True)):
            own = tuple(CentreDay(day=day, is_working=told.get(day, False), name="told") for day in unsure)
            settled = replace(clock, working_days=replace(clock.working_days, centre_days=own))
            true = ticket_dates(settled, Call(kind="routine", called_at=called, time_zone=str(ZONE)))
            assert true.legal_start_at.at <= found.legal_start_at.at
            for name in ("expires_at", "latest_start_at", "renew_by"):
                if getattr(found, name).at is not None:
                    assert getattr(true, name).at >= getattr(found, name).at, (name, told)
    assert met > 0
