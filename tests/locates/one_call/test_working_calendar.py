"""Which days count: lists, days that the law names, observed days, a centre's own days."""

from datetime import date, timedelta

import pytest

from locates.one_call.calendar import STATES, day_of
from locates.one_call.clock_reader import read_clock
from locates.one_call.state_zones import ZONES, zone_of
from tests.one_call_clocks import clock_json, moment

CHRISTMAS_EVE = {"name": "Christmas Eve", "month": 12, "day": 24}
CHRISTMAS = {"name": "Christmas Day", "month": 12, "day": 25}


def off_days(first: str, last: str, working_days=None, **holidays) -> list[str]:
    """Weekdays between two days that do not count."""
    calendar = read_clock(clock_json(holidays=holidays, working_days=working_days or {})).working_days
    start, end = date.fromisoformat(first), date.fromisoformat(last)
    every = [start + timedelta(days=n) for n in range((end - start).days + 1)]
    return [f"{day}" for day in every if day.weekday() < 5 and not day_of(calendar, day).is_working]


@pytest.mark.parametrize(
    ("shifts", "off"),
    [
        ({"saturday": "friday"}, ["2026-07-03"]),  # 2026-07-04 is a Saturday
        ({"saturday": "none"}, []),
    ],
)
def test_a_holiday_on_a_saturday(shifts, off):
    assert off_days("2026-07-01", "2026-07-08", **shifts) == off


@pytest.mark.parametrize(
    ("shifts", "off"), [({"sunday": "monday"}, ["2027-07-05"]), ({"sunday": "none"}, [])]
)
def test_a_holiday_on_a_sunday(shifts, off):
    assert off_days("2027-07-01", "2027-07-08", **shifts) == off


def test_new_years_day_on_a_saturday_is_observed_in_the_old_year():
    assert off_days("2027-12-27", "2028-01-07") == ["2027-12-31"]


def test_two_holidays_on_one_day_take_two_where_the_law_says_so():
    # O.C.G.A. 25-9-3 names both days. Christmas 2027 is a Saturday: observed on Friday, which is Christmas
    # Eve.
    named = {"lists": [], "days": [CHRISTMAS_EVE, CHRISTMAS]}
    assert off_days("2027-12-20", "2027-12-30", **named) == ["2027-12-24"]
    assert off_days("2027-12-20", "2027-12-30", one_a_day=True, **named) == ["2027-12-23", "2027-12-24"]


def test_days_that_the_law_names_and_days_that_it_leaves_out():
    day_after = {"name": "Day after", "month": 11, "nth": 4, "weekday": "thursday", "days_after": 1}
    last_monday = {"name": "Last Monday", "month": 5, "nth": -1, "weekday": "monday"}
    assert off_days("2026-11-01", "2026-11-30", lists=[], days=[day_after]) == ["2026-11-27"]
    assert off_days("2026-05-01", "2026-05-31", lists=[], days=[last_monday]) == ["2026-05-25"]
    assert off_days("2026-10-01", "2026-10-31") == ["2026-10-12"]
    assert off_days("2026-10-01", "2026-10-31", removed=["Columbus Day"]) == []


def test_a_leap_day_is_a_holiday_in_leap_years_alone():
    leap = {"name": "Leap day", "month": 2, "day": 29}
    assert off_days("2028-02-21", "2028-03-03", lists=[], days=[leap]) == ["2028-02-29"]
    assert off_days("2027-02-21", "2027-03-05", lists=[], days=[leap]) == []


def test_the_lists_of_a_state_and_of_both():
    # Gov. Code 662.003 (Texas): San Jacinto Day is the state's alone; Columbus Day is not on the state's
    # list.
    both, state = {"state": "TX", "lists": ["federal_and_state"]}, {"state": "TX", "lists": ["state"]}
    assert "2026-04-21" in off_days("2026-04-01", "2026-04-30", **state)
    assert "2026-04-21" not in off_days("2026-04-01", "2026-04-30", **both)
    assert off_days("2026-10-01", "2026-10-31", **state) == []
    assert off_days("2026-09-01", "2026-09-30", **both) == ["2026-09-07"]


def test_a_centres_own_days_go_before_every_list():
    own = [
        {"day": "2026-10-12", "is_working": True, "name": "open"},
        {"day": "2026-10-14", "is_working": False, "name": "moving house"},
    ]
    assert off_days("2026-10-01", "2026-10-31", {"centre_days": own}) == ["2026-10-14"]


def test_every_shipped_state_has_a_zone_and_a_list_of_holidays():
    assert set(ZONES) <= STATES
    assert len(ZONES) == 32


@pytest.mark.parametrize(
    ("state", "offset", "zone"),
    [
        ("TX", "America/Chicago", "America/Chicago"),
        ("TX", "America/Denver", "America/Denver"),
        ("TX", "America/New_York", "America/Chicago"),
        ("VA", "America/New_York", "America/New_York"),
    ],
)
def test_a_written_offset_picks_among_the_zones_of_a_state(state, offset, zone):
    assert zone_of(state, moment("2026-09-14 10:00", offset)) == zone


def test_a_jurisdiction_that_is_not_listed_has_no_zone_of_its_own():
    assert zone_of("ZZ") is None
