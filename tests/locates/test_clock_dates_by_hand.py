"""Dates of the surest rules, each worked by hand from the text that its citation names.

The days used: in 2026 July 4 is a Saturday, Labor Day Mon Sep 7, Thanksgiving Thu Nov 26, Christmas a Friday;
in 2027 New Year is a Friday, Martin Luther King Jr. Day Mon Jan 18. Times are of the zone in `ZONES`.
"""

import json
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from locates.one_call.clock import Call, ticket_dates
from locates.one_call.clock_reader import read_clock

RULES = Path(__file__).resolve().parents[2] / "locates" / "one_call" / "clocks.json"
CLOCKS = {code: read_clock(value) for code, value in json.loads(RULES.read_text(encoding="utf-8")).items()}
ZONES = {
    **dict.fromkeys(("AL", "KS", "MN", "TN", "TX", "WI"), "America/Chicago"),
    **dict.fromkeys(("FL", "MD", "NC", "NJ", "NY", "PA", "VA"), "America/New_York"),
    **dict.fromkeys(("CA", "OR", "WA"), "America/Los_Angeles"),
    "AZ": "America/Phoenix",
    "CO": "America/Denver",
    "IN": "America/Indiana/Indianapolis",
}


@dataclass(frozen=True)
class Case:
    """One call, and what a person gets from the text."""

    code: str
    called: str
    dates: dict[str, str | None]
    start: str = ""
    kind: str = "routine"

    def __str__(self) -> str:
        return f"{self.code} {self.called} {self.kind}"


def dates_of(case: Case) -> dict[str, str | None]:
    zone = ZoneInfo(ZONES[case.code])

    def local(text: str) -> datetime:
        return datetime.fromisoformat(text).replace(tzinfo=zone)

    call = Call(
        kind=case.kind,
        called_at=local(case.called),
        time_zone=ZONES[case.code],
        start_at=local(case.start) if case.start else None,
    )
    found = ticket_dates(CLOCKS[case.code], call)
    return {
        name: (date.at.astimezone(zone).strftime("%Y-%m-%d %H:%M") if date.at else None)
        for name in ("legal_start_at", "response_due_at", "latest_start_at", "renew_by", "expires_at")
        for date in [getattr(found, name)]
    }


def check(case: Case) -> None:
    found = dates_of(case)
    assert {name: found[name] for name in case.dates} == case.dates


def starts(code: str, called: str, at: str | None, kind: str = "routine") -> Case:
    return Case(code, called, {"legal_start_at": at}, kind=kind)


# A Monday with four working days after it: Mon Nov 30, 2026, 2 pm.
MONDAY = [
    # 2 working days (Tue 1, Wed 2), each 24 hours from the start of the day at 07:00; at most 10 working days
    # ahead (Dec 1-4, 7-11, 14).
    Case(
        "AL",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-03 07:00",
            "latest_start_at": "2026-12-14 23:59",
            "response_due_at": None,  # not stated
        },
    ),
    # 2 full working days, Tue and Wed; operators answer within them; from when the 15 days count is not
    # known.
    Case(
        "AZ",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-03 00:00",
            "response_due_at": "2026-12-03 00:00",
            "latest_start_at": None,
            "expires_at": None,
            "renew_by": None,
        },
    ),
    # 2 working days of 07:00 to 17:00, Tue and Wed; 14 calendar days; 28 calendar days: Nov 30 + 28.
    Case(
        "CA",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-02 17:00",
            "latest_start_at": "2026-12-14 23:59",
            "expires_at": "2026-12-28 23:59",
        },
    ),
    # Day 1 Tue, day 2 Wed, "digging is day 3"; answers in the same two days; 30 days from Dec 2.
    Case(
        "CO",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-03 00:00",
            "response_due_at": "2026-12-02 23:59",
            "latest_start_at": None,
            "expires_at": "2027-01-01 23:59",
        },
    ),
    # 2 full business days; 30 calendar days, Nov 30 not counted.
    Case(
        "FL",
        "2026-11-30 14:00",
        {"legal_start_at": "2026-12-03 00:00", "latest_start_at": None, "expires_at": "2026-12-30 23:59"},
    ),
    # Its two readings do not agree on the whole, so that a person is asked (REFERENCES.md, section 1).
    Case("IN", "2026-11-30 14:00", {"legal_start_at": None, "latest_start_at": None, "expires_at": None}),
    # 2 full working days; at most 20 calendar days; 20 calendar days from the start, Dec 3.
    Case(
        "KS",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-03 08:00",
            "latest_start_at": "2026-12-20 23:59",
            "expires_at": "2026-12-23 23:59",
        },
        start="2026-12-03 08:00",
    ),
    # 3 whole business days (Tue, Wed, Thu); not later than 12: Dec 1-4, 7-11, 14-16; the 12-day life is old
    # law.
    Case(
        "MD",
        "2026-11-30 14:00",
        {"legal_start_at": "2026-12-04 00:00", "latest_start_at": "2026-12-16 23:59", "expires_at": None},
    ),
    # 48 hours with the day of notice left out: all of Tue and Wed; 14 calendar days; the life is from memory.
    Case(
        "MN",
        "2026-11-30 14:00",
        {"legal_start_at": "2026-12-03 00:00", "latest_start_at": "2026-12-14 23:59", "expires_at": None},
    ),
    # 3 full working days, to 23:59 on Thu 3; at most 12 (Dec 16); good for 15 (Dec 21); an update on day
    # 12, Dec 16.
    Case(
        "NC",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-03 23:59",
            "response_due_at": "2026-12-03 23:59",
            "latest_start_at": "2026-12-16 23:59",
            "expires_at": "2026-12-21 23:59",
            "renew_by": "2026-12-16 23:59",
        },
    ),
    # 3 business days; begun within 10 (Dec 14); good for 45: 22 in December (less Christmas), 19 in January
    # (less New Year and Jan 18), 4 in February.
    Case(
        "NJ",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-04 00:00",
            "latest_start_at": "2026-12-14 23:59",
            "expires_at": "2027-02-04 23:59",
        },
    ),
    # 2 to 10 working days; answers before the stated start; no fixed life.
    Case(
        "NY",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-07 08:00",
            "response_due_at": "2026-12-07 08:00",
            "latest_start_at": "2026-12-14 23:59",
            "expires_at": None,
        },
        start="2026-12-07 08:00",
    ),
    # 2 to 10 full business days of 00:00 to 23:59; the life of 45 days may have been cut to 30.
    Case(
        "OR",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-03 00:00",
            "response_due_at": "2026-12-03 00:00",
            "latest_start_at": "2026-12-14 23:59",
            "expires_at": None,
        },
    ),
    # 3 whole business days after the call; the tenth with the day of the call as the first: Nov 30, Dec
    # 1-4, 7-11.
    Case(
        "PA",
        "2026-11-30 14:00",
        {"legal_start_at": "2026-12-04 00:00", "latest_start_at": "2026-12-11 23:59", "expires_at": None},
    ),
    # 3 full working days; at most 10; 15 calendar days from the start, Dec 4; a new notice 3 working days
    # (Wed 16, Thu 17, Fri 18) before Sat Dec 19 ends.
    Case(
        "TN",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-04 08:00",
            "latest_start_at": "2026-12-14 23:59",
            "expires_at": "2026-12-19 23:59",
            "renew_by": "2026-12-15 23:59",
        },
        start="2026-12-04 08:00",
    ),
    # 48 hours from the call; answers by the 48th; the notice is not earlier than the 14th day before.
    Case(
        "TX",
        "2026-11-30 14:00",
        {
            "legal_start_at": "2026-12-02 14:00",
            "response_due_at": "2026-12-02 14:00",
            "latest_start_at": "2026-12-14 23:59",
            "expires_at": None,
        },
    ),
    # 48 hours from 07:00 on Tue; the life of 15 days is remembered by one of the readings.
    Case("VA", "2026-11-30 14:00", {"legal_start_at": "2026-12-03 07:00", "expires_at": None}),
    # 2 full business days; at most 10; from when the 45 days count was not read.
    Case(
        "WA",
        "2026-11-30 14:00",
        {"legal_start_at": "2026-12-03 00:00", "latest_start_at": "2026-12-14 23:59", "expires_at": None},
    ),
    # 3 working days; begun within 10 days of the stated start, Mon Dec 7.
    Case(
        "WI",
        "2026-11-30 14:00",
        {"legal_start_at": "2026-12-07 08:00", "latest_start_at": "2026-12-17 23:59", "expires_at": None},
        start="2026-12-07 08:00",
    ),
]

# AL: 20 working days after the start, Mon Mar 1: 4 + 5 + 5 + 5 + 1, to Mon Mar 29; called at least 2 working
# days before, and so that its own two days and the morning after lie before the end: Wed Mar 24.
# CA: Mar 1 + 28 is Mon Mar 29; a renewal on Thu 25 runs Fri 26 and Mon 29, to 17:00.
# KS: Mar 6 + 20 is Fri Mar 26; a renewal on Tue 23 runs Wed 24 and Thu 25.
# NJ: Dec 2-4, 7-11, 14, 15 are ten days; a day past Monday's life; a renewal on Mon Feb 1 runs to Thu 4.
LIVES = [
    Case(
        "AL",
        "2027-02-22 09:00",
        {
            "legal_start_at": "2027-03-01 08:00",
            "expires_at": "2027-03-29 23:59",
            "renew_by": "2027-03-24 23:59",
        },
        start="2027-03-01 08:00",
    ),
    Case(
        "CA",
        "2027-03-01 09:00",
        {
            "legal_start_at": "2027-03-03 17:00",
            "latest_start_at": "2027-03-15 23:59",
            "expires_at": "2027-03-29 23:59",
            "renew_by": "2027-03-25 23:59",
        },
    ),
    Case(
        "KS",
        "2027-03-01 09:00",
        {
            "latest_start_at": "2027-03-21 23:59",
            "expires_at": "2027-03-26 23:59",
            "renew_by": "2027-03-23 23:59",
        },
        start="2027-03-06 08:00",
    ),
    Case(
        "NJ",
        "2026-12-01 14:00",
        {
            "legal_start_at": "2026-12-05 00:00",
            "latest_start_at": "2026-12-15 23:59",
            "expires_at": "2027-02-05 23:59",
            "renew_by": "2027-02-01 23:59",
        },
    ),
]

HOLIDAYS = [
    # Thanksgiving: Tuesday's call counts Wed 25 and Fri 27 (no holiday of Oregon's or New Jersey's or
    # Arizona's).
    starts("OR", "2026-11-24 10:00", "2026-11-28 00:00"),
    starts("AZ", "2026-11-24 10:00", "2026-11-28 00:00"),
    starts("NJ", "2026-11-24 10:00", "2026-12-01 00:00"),  # and Mon 30
    # Virginia's Friday is a holiday: 17 hours of Wed 25 from 07:00, 24 of Mon 30, 7 of Tue.
    starts("VA", "2026-11-24 10:00", "2026-12-01 07:00"),
    # Whether Minnesota's or North Carolina's clock stands still on the Friday after was not read: the later
    # start is safe. Wed 25 and Mon 30 of Minnesota's, Wed 25, Mon 30 and Tue 1 of North Carolina's.
    starts("MN", "2026-11-24 10:00", "2026-12-01 00:00"),
    starts("NC", "2026-11-24 10:00", "2026-12-01 23:59"),
    # It does on Thanksgiving itself: Tue 24 and Wed 25 are counted, and the Friday is not met.
    starts("MN", "2026-11-23 10:00", "2026-11-26 00:00"),
    # Christmas: Thu 24 and Mon 28.
    starts("OR", "2026-12-23 10:00", "2026-12-29 00:00"),
    starts("VA", "2026-12-23 10:00", "2026-12-29 07:00"),
    # New Year: Thu 31 and Mon Jan 4; New Jersey's third day is before them, Wed 30.
    starts("OR", "2026-12-30 10:00", "2027-01-05 00:00"),
    starts("NJ", "2026-12-29 10:00", "2027-01-05 00:00"),
    # Texas counts hours: 10 of Wed 30, 24 of Thu 31, 14 of Mon Jan 4.
    starts("TX", "2026-12-30 14:00", "2027-01-04 14:00"),
    # July 4, a Saturday: federal holidays are observed on Fri 3 (5 USC 6103), so Thu 2 and Mon 6.
    starts("OR", "2026-07-01 10:00", "2026-07-07 00:00"),
    starts("VA", "2026-07-01 10:00", "2026-07-07 07:00"),
    # Whether Arizona's clock stands still on that Friday was not read: Thu 2 and Mon 6 are the later count.
    starts("AZ", "2026-07-01 10:00", "2026-07-07 00:00"),
    # Colorado's list of holidays was not read: Fri 25 Dec left out, Thu 24 (Christmas Eve) as well, so that
    # the two days after Wed 23 are Mon 28 and Tue 29; digging is the next.
    starts("CO", "2026-12-23 10:00", "2026-12-30 00:00"),
    # Its 30 days from the day on which answers are due: at the soonest Fri 25, two days that both counted.
    Case(
        "CO",
        "2026-12-23 10:00",
        {"response_due_at": "2026-12-29 23:59", "expires_at": "2027-01-24 23:59"},
    ),
    # Alabama's day after Thanksgiving: the 10 working days ahead, the sooner end, are Nov 23-25, 27, 30 and
    # Dec 1-4, 7; the 20 of its life from Wed 25 (Mon 23, Tue 24 of notice) are Fri 27 to Thu 24 Dec.
    Case(
        "AL",
        "2026-11-20 10:00",
        {
            "legal_start_at": "2026-11-25 07:00",
            "latest_start_at": "2026-12-07 23:59",
            "expires_at": "2026-12-24 23:59",
        },
    ),
    # Martin Luther King Jr. Day, Mon Jan 18: Fri 15 and Tue 19.
    starts("OR", "2027-01-14 10:00", "2027-01-20 00:00"),
    # Labor Day, in hours: 10 of Fri Sep 4, 24 of Tue 8, 14 of Wed 9.
    starts("TX", "2026-09-04 14:00", "2026-09-09 14:00"),
]

# Tex. Util. Code 251.151(b): a notice on a Saturday.
SATURDAYS = [
    starts("TX", "2026-11-28 10:00", "2026-12-01 11:59"),
    starts("TX", "2026-09-05 10:00", "2026-09-09 11:59"),  # Mon Sep 7 is Labor Day
    starts("TX", "2027-01-16 10:00", "2027-01-20 11:59"),  # Mon Jan 18 is Martin Luther King Jr. Day
    # Virginia: counts as entered on Mon Dec 7, so 48 hours from 07:00 on Tue 8.
    starts("VA", "2026-12-05 10:00", "2026-12-10 07:00"),
]

# Cut-offs. Florida's hour was not read: a call after the earliest that any rule has (16:30) gets no date.
EVENINGS = [
    starts("FL", "2026-11-30 16:29", "2026-12-03 00:00"),
    starts("FL", "2026-11-30 16:31", None),
    # K.S.A. 66-1804: with a meeting on site, no earlier than the fifth working day: Dec 1-4 and 7.
    starts("KS", "2026-11-30 14:00", "2026-12-07 00:00", kind="site_meeting"),
    # Minnesota's counts from the meeting, whose time is not known.
    starts("MN", "2026-11-30 14:00", None, kind="site_meeting"),
]


@pytest.mark.parametrize("case", MONDAY, ids=str)
def test_a_monday_call_before_a_plain_week(case):
    check(case)


@pytest.mark.parametrize("case", LIVES, ids=str)
def test_a_life_and_the_call_that_renews_it(case):
    check(case)


@pytest.mark.parametrize("case", HOLIDAYS, ids=str)
def test_a_holiday_on_the_way(case):
    check(case)


@pytest.mark.parametrize("case", SATURDAYS, ids=str)
def test_a_call_on_a_saturday(case):
    check(case)


@pytest.mark.parametrize("case", EVENINGS, ids=str)
def test_a_call_at_the_cut_off_or_for_a_meeting(case):
    check(case)


def test_an_evening_in_central_time_is_the_next_day_in_indianapolis():
    # 11:30 pm on Mon Nov 30 in Chicago is 12:30 am on Tue there: Wed and Thu are counted, then Fri 07:00. The
    # rule is not sure, and the reading is told.
    called_at = datetime(2026, 11, 30, 23, 30, tzinfo=ZoneInfo("America/Chicago"))
    call = Call(kind="routine", called_at=called_at, time_zone="America/Chicago")
    found = ticket_dates(CLOCKS["IN"], call).legal_start_at
    assert found.at is None
    assert "the two readings of this rule do not agree on the whole" in found.working
    assert "as it was read, it would be Fri Dec 4, 2026, 7:00 am EST" in found.working


def test_a_rule_without_two_readings_that_agree_gives_no_date_at_all_and_says_why():
    for code in ("DE", "IA", "LA", "MS", "NV", "OK", "SC", "SD", "GA", "IN", "MI", "MO", "OH"):
        call = Call(
            kind="routine",
            called_at=datetime(2026, 11, 30, 14, 0, tzinfo=ZoneInfo("UTC")),
            time_zone="America/Chicago",
        )
        found = ticket_dates(CLOCKS[code], call)
        for name in ("legal_start_at", "response_due_at", "latest_start_at", "renew_by", "expires_at"):
            assert getattr(found, name).at is None, (code, name)
        assert re.search("one reading|reading(s| of)", found.legal_start_at.working), code
        assert found.silence.policy == "wait"
