"""The dates of tickets under the days that they fall on where their job is."""

from datetime import UTC, date, datetime
from uuid import UUID

import pytest

from locates.calendar_entries import TITLES, DateKind, Entry, by_day
from locates.local_time import format_clock

KEY = UUID(int=7)


def entry(at: datetime, **values) -> Entry:
    usual = {
        "kind": DateKind.EXPIRES,
        "at": at,
        "ticket_id": KEY,
        "job_id": KEY,
        "number": "T-1",
        "job": "Alder Street",
        "time_zone": "America/New_York",
        "version": 1,
        "revised_at": at,
    }
    return Entry(**usual | values)


@pytest.mark.parametrize(
    ("at", "zone", "day", "clock"),
    [
        # 4:59 and 5:00 of UTC are midnight's two sides in New York in winter.
        (datetime(2026, 12, 1, 4, 59, tzinfo=UTC), "America/New_York", date(2026, 11, 30), "11:59 pm EST"),
        (datetime(2026, 12, 1, 5, 0, tzinfo=UTC), "America/New_York", date(2026, 12, 1), "12:00 am EST"),
        (datetime(2026, 7, 1, 3, 59, tzinfo=UTC), "America/New_York", date(2026, 6, 30), "11:59 pm EDT"),
        (datetime(2026, 12, 1, 9, 59, tzinfo=UTC), "Pacific/Honolulu", date(2026, 11, 30), "11:59 pm HST"),
        # The hour that comes twice.
        (datetime(2026, 11, 1, 5, 30, tzinfo=UTC), "America/New_York", date(2026, 11, 1), "1:30 am EDT"),
        (datetime(2026, 11, 1, 6, 30, tzinfo=UTC), "America/New_York", date(2026, 11, 1), "1:30 am EST"),
    ],
)
def test_a_moment_falls_on_the_day_of_its_job(at, zone, day, clock):
    one = entry(at, time_zone=zone)
    assert (one.day, one.clock, format_clock(at, zone)) == (day, clock, clock)


def test_days_and_their_entries_are_in_order():
    later = entry(datetime(2026, 12, 2, 12, tzinfo=UTC))
    last = entry(datetime(2026, 12, 1, 20, tzinfo=UTC))
    first = entry(datetime(2026, 12, 1, 12, tzinfo=UTC))
    assert by_day([later, last, first]) == {date(2026, 12, 1): [first, last], date(2026, 12, 2): [later]}
    assert list(by_day([later, last, first])) == [date(2026, 12, 1), date(2026, 12, 2)]


def test_every_kind_of_date_has_a_title():
    assert set(TITLES) == set(DateKind)


@pytest.mark.parametrize(
    ("values", "note"),
    [
        ({"kind": DateKind.ANSWERS_DUE, "awaited_count": 2}, "2 not answered"),
        ({"kind": DateKind.LEGAL_START, "awaited_count": 1}, "1 not answered"),
        ({"kind": DateKind.EXPIRES, "awaited_count": 1}, ""),
        ({"kind": DateKind.LEGAL_START, "awaited_count": 0}, ""),
        ({"kind": DateKind.LEGAL_START, "awaited_count": None}, ""),
        ({"state": "finished"}, "work finished"),
        ({"state": "replaced"}, "renewed or re-marked"),
        ({"state": "expired"}, ""),
    ],
)
def test_a_date_says_what_it_weighs(values, note):
    assert entry(datetime(2026, 12, 1, tzinfo=UTC), **values).note == note
