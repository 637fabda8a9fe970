"""Moments as people write them: read in the job's zone, and refused where the clocks leave a doubt."""

import doctest
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from locates import local_time
from locates.errors import MomentError
from locates.local_time import parse_local, write_local

NEW_YORK = "America/New_York"


@pytest.mark.parametrize(
    ("text", "utc"),
    [
        ("2026-11-05T07:00", "2026-11-05T12:00"),
        ("2026-11-05 7:00 am", "2026-11-05T12:00"),
        ("2026-11-05 12:00 am", "2026-11-05T05:00"),
        ("2026-11-05 12:30 p.m.", "2026-11-05T17:30"),
        ("2026-7-4 19:05 EDT", "2026-07-04T23:05"),
        (" 2026-11-05   07:00:00 ", "2026-11-05T12:00"),
    ],
)
def test_a_day_and_a_time_are_read_in_the_zone(text, utc):
    assert parse_local(text, NEW_YORK) == datetime.fromisoformat(utc).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("11/5/2026 7:00", "write the day and the time as 2026-11-05 7:00 am"),
        ("2026-11-05", "write the day and the time"),
        ("", "write the day and the time"),
        ("2026-02-30 07:00", "no such day"),
        ("2026-11-05 25:00", "no such day or hour"),
        ("2026-11-05 13:00 pm", "one of 1 to 12"),
        ("0206-11-05 07:00", "the year stays between 1900 and 2200"),
        ("2026-11-05 07:00 EDT", "say otherwise then: write 2026-11-05 07:00 EST"),
    ],
)
def test_what_has_no_reading_is_refused_with_what_is_accepted(text, words):
    with pytest.raises(MomentError, match=words):
        parse_local(text, NEW_YORK)


# The United States change their clocks at 2 am on the second Sunday of March and the first of November:
# 15 U.S.C. 260a.
def test_an_hour_that_comes_twice_is_refused_until_it_is_named():
    with pytest.raises(MomentError, match=r"comes twice on that day .* 01:30 EDT or 2026-11-01 01:30 EST"):
        parse_local("2026-11-01T01:30", NEW_YORK)
    assert parse_local("2026-11-01 01:30 EDT", NEW_YORK) == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)
    assert parse_local("2026-11-01 1:30 am est", NEW_YORK) == datetime(2026, 11, 1, 6, 30, tzinfo=UTC)


def test_an_hour_that_is_skipped_is_refused_and_the_one_that_comes_is_told():
    with pytest.raises(MomentError, match=r"there is no 2:30 am .* comes instead is 3:30 am"):
        parse_local("2026-03-08T02:30", NEW_YORK)


def test_a_zone_that_keeps_one_time_all_year_has_neither():
    phoenix = "America/Phoenix"
    assert parse_local("2026-11-01T01:30", phoenix) == datetime(2026, 11, 1, 8, 30, tzinfo=UTC)
    assert parse_local("2026-03-08T02:30", phoenix) == datetime(2026, 3, 8, 9, 30, tzinfo=UTC)


zones = st.sampled_from([NEW_YORK, "America/Los_Angeles", "Australia/Lord_Howe", "Asia/Kolkata", "UTC"])


@given(
    st.datetimes(datetime(1975, 1, 1), datetime(2100, 1, 1)).map(
        lambda one: one.replace(second=0, microsecond=0)
    ),
    zones,
)
def test_what_is_shown_is_read_back_to_the_minute(naive, time_zone):
    moment = naive.replace(tzinfo=ZoneInfo(time_zone)).astimezone(UTC)
    assert parse_local(write_local(moment, time_zone), time_zone) == moment


def test_the_examples_in_the_module_are_true():
    assert doctest.testmod(local_time, extraglobs={"UTC": UTC}).failed == 0
