"""Which local day a walk counts for, about midnight and on the days on which the clocks change."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.desk.walk_sheet import walk_of_today
from conflicts.models import DailyWalk
from conflicts.walk_days import by_day, local_day, not_so
from tests.factories import BoreFactory, DailyWalkFactory, JobFactory

NEW_YORK = "America/New_York"


@pytest.mark.parametrize(
    ("moment", "zone", "day"),
    [
        # Midnight in New York in November is 05:00 UTC, in July 04:00.
        ("2026-11-10T04:59:59.999999Z", NEW_YORK, "2026-11-09"),
        ("2026-11-10T05:00:00Z", NEW_YORK, "2026-11-10"),
        ("2026-07-10T03:59:59Z", NEW_YORK, "2026-07-09"),
        ("2026-07-10T04:00:00Z", NEW_YORK, "2026-07-10"),
        # The clocks go back on Nov 1, 2026 (25 hours) and forward on Mar 14, 2027 (23 hours).
        ("2026-11-01T03:59:59Z", NEW_YORK, "2026-10-31"),
        ("2026-11-01T04:00:00Z", NEW_YORK, "2026-11-01"),
        ("2026-11-02T04:59:59Z", NEW_YORK, "2026-11-01"),
        ("2026-11-02T05:00:00Z", NEW_YORK, "2026-11-02"),
        ("2027-03-14T05:00:00Z", NEW_YORK, "2027-03-14"),
        ("2027-03-15T03:59:59Z", NEW_YORK, "2027-03-14"),
        ("2027-03-15T04:00:00Z", NEW_YORK, "2027-03-15"),
        # One moment, three days of the calendar's edge.
        ("2026-11-10T10:30:00Z", "Pacific/Honolulu", "2026-11-10"),
        ("2026-11-10T09:59:59Z", "Pacific/Honolulu", "2026-11-09"),
        ("2026-11-10T10:30:00Z", "Pacific/Kiritimati", "2026-11-11"),
        # Phoenix keeps its clocks as they are.
        ("2026-07-10T06:59:59Z", "America/Phoenix", "2026-07-09"),
        ("2026-07-10T07:00:00Z", "America/Phoenix", "2026-07-10"),
        # Clocks that go forward at midnight: the day begins at 1:00.
        ("2026-09-06T03:59:59Z", "America/Santiago", "2026-09-05"),
        ("2026-09-06T04:00:00Z", "America/Santiago", "2026-09-06"),
    ],
)
def test_a_moment_lies_in_the_day_of_the_jobs_zone(moment, zone, day):
    assert local_day(datetime.fromisoformat(moment), zone).isoformat() == day


def test_a_moment_without_an_offset_is_in_no_day():
    with pytest.raises(ValueError, match="no offset"):
        local_day(datetime(2026, 11, 10, 8, 0), NEW_YORK)


@given(
    st.datetimes(datetime(2020, 1, 1), datetime(2035, 1, 1), timezones=st.just(UTC)),
    st.sampled_from(
        [NEW_YORK, "America/Los_Angeles", "America/Phoenix", "Pacific/Honolulu", "America/Halifax"]
    ),
)
def test_a_day_is_what_the_wall_clock_says(moment, zone):
    """Held to the bounds of the day: local midnight and the next one, made from the zone the other way."""
    day = local_day(moment, zone)
    begins = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).astimezone(UTC)
    after = day + timedelta(days=1)
    ends = datetime(after.year, after.month, after.day, tzinfo=ZoneInfo(zone)).astimezone(UTC)
    assert begins <= moment < ends


@pytest.fixture
def bore(db):
    return BoreFactory(job=JobFactory(time_zone=NEW_YORK))


def walked(bore, moment, **values):
    return DailyWalkFactory(bore=bore, walked_at=datetime.fromisoformat(moment), **values)


@pytest.mark.parametrize(
    ("walked_at", "asked_at", "counts"),
    [
        ("2026-11-10T05:00:00Z", "2026-11-11T04:59:59Z", True),
        ("2026-11-10T04:59:59Z", "2026-11-10T05:00:00Z", False),
        ("2026-11-10T13:00:00Z", "2026-11-11T05:00:00Z", False),
        # Nov 1, 2026: from the first 0:30 to the last 23:30 are 24 hours, and it is one day all the same.
        ("2026-11-01T04:30:00Z", "2026-11-02T04:30:00Z", True),
        ("2026-11-01T04:30:00Z", "2026-11-02T05:00:00Z", False),
        ("2027-03-14T05:00:00Z", "2027-03-15T03:59:00Z", True),
        ("2027-03-14T05:00:00Z", "2027-03-15T04:00:00Z", False),
    ],
)
def test_a_walk_counts_until_the_local_midnight(bore, walked_at, asked_at, counts):
    walk = walked(bore, walked_at)
    assert walk_of_today(bore, datetime.fromisoformat(asked_at)) == (walk if counts else None)


def test_the_last_walk_of_the_day_counts_whatever_it_says(bore):
    walked(bore, "2026-11-10T13:00:00Z")
    bad = walked(bore, "2026-11-10T15:00:00Z", marks_intact=False)
    assert walk_of_today(bore, datetime.fromisoformat("2026-11-10T16:00:00Z")) == bad
    good = walked(bore, "2026-11-10T17:00:00Z")
    assert walk_of_today(bore, datetime.fromisoformat("2026-11-10T18:00:00Z")) == good
    assert walk_of_today(bore, datetime.fromisoformat("2026-11-10T16:59:59Z")) == bad


def test_a_walk_that_is_still_to_come_does_not_count(bore):
    walked(bore, "2026-11-10T15:00:00Z")
    assert walk_of_today(bore, datetime.fromisoformat("2026-11-10T14:59:59Z")) is None


def test_the_walk_of_another_bore_does_not_count(bore):
    walked(BoreFactory(job=bore.job), "2026-11-10T13:00:00Z")
    assert walk_of_today(bore, datetime.fromisoformat("2026-11-10T14:00:00Z")) is None


def test_one_moment_counts_for_the_day_of_each_jobs_own_zone(bore):
    """8 pm in Honolulu on the 10th is the 11th in New York; asked at the 11th, 7 am in Honolulu."""
    there = BoreFactory(job=JobFactory(time_zone="Pacific/Honolulu"))
    walk, _ = walked(bore, "2026-11-11T06:00:00Z"), walked(there, "2026-11-11T06:00:00Z")
    asked_at = datetime.fromisoformat("2026-11-11T17:00:00Z")
    assert (walk_of_today(bore, asked_at), walk_of_today(there, asked_at)) == (walk, None)


def test_walks_are_listed_by_day_the_last_first(bore):
    first = walked(bore, "2026-11-10T04:00:00Z")
    second = walked(bore, "2026-11-10T06:00:00Z")
    third = walked(bore, "2026-11-10T20:00:00Z")
    days = by_day([third, second, first], NEW_YORK)
    assert [(day.day, day.walks, day.counts) for day in days] == [
        (date(2026, 11, 10), [third, second], third),
        (date(2026, 11, 9), [first], first),
    ]


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({}, []),
        ({"marks_intact": False}, ["the marks were not all intact"]),
        ({"device_checked": False}, ["the locating device was not checked"]),
        ({"holes_open": False}, ["the test holes were not all open"]),
    ],
)
def test_what_was_not_so_is_said(answers, words):
    yes = {"marks_intact": True, "device_checked": True, "holes_open": True}
    assert not_so(DailyWalk(**yes | answers)) == words
