"""Every way in which a law counts the notice, at least three cases each, worked by hand from the text cited.

The texts are those of the shipped table's citations; 2026-09-07 is Labor Day, a Monday.
"""

import pytest

from tests.one_call_clocks import SURE, TEXAN_SATURDAY, TWO_FULL_DAYS, clock_json, dates, days, hours, local


def start_of(clock, called, **more):
    return local(dates(clock, called, **more).legal_start_at.at)


# OAR 952-001-0010(23), -0050: wait until 2 full business days, 00:00 to 23:59, have passed after the day of
# notice.
@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-14 08:00", "2026-09-17 00:00"),  # Monday: Tuesday and Wednesday pass
        ("2026-09-03 14:10", "2026-09-09 00:00"),  # Thursday: Friday and Tuesday, for Monday is a holiday
        ("2026-09-18 23:59", "2026-09-23 00:00"),  # Friday's last minute: Monday and Tuesday
        ("2026-09-19 10:00", "2026-09-23 00:00"),  # Saturday: the same two days
    ],
)
def test_full_days_after_the_day_of_notice(called, start):
    assert start_of(clock_json(), called) == start


# Tex. Util. Code 251.151: 48 hours, without Saturdays, Sundays and legal holidays.
@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-15 10:00", "2026-09-17 10:00"),  # Tuesday to Thursday
        ("2026-09-17 15:00", "2026-09-21 15:00"),  # 9 h of Thursday, 24 h of Friday, 15 h of Monday
        ("2026-09-03 15:00", "2026-09-08 15:00"),  # 9 h of Thursday, 24 h of Friday, 15 h of Tuesday
        ("2026-09-20 10:00", "2026-09-23 00:00"),  # Sunday does not run: all of Monday and Tuesday
    ],
)
def test_hours_without_those_of_days_that_do_not_count(called, start):
    assert start_of(clock_json(notice=hours(48)), called) == start


# Common practice, no source: hours of the working day alone, here 07:00 to 17:00, ten of them a day.
@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-14 15:00", "2026-09-16 11:00"),  # 2 h of Monday, 10 h of Tuesday, 4 h of Wednesday
        ("2026-09-14 05:00", "2026-09-15 13:00"),  # 10 h of Monday, 6 h of Tuesday
        ("2026-09-04 16:30", "2026-09-09 12:30"),  # 30 min of Friday, 10 h of Tuesday, 5 h 30 of Wednesday
    ],
)
def test_hours_of_the_working_day_alone(called, start):
    clock = clock_json(
        working_days={"opens_at": "07:00", "closes_at": "17:00"}, notice=hours(16, "working hours")
    )
    assert start_of(clock, called) == start


# Va. Code 56-265.17: 48 hours from 07:00 of the next working day after the request, so the third working day
# at 07:00; a request on a weekend or holiday counts as entered the first working day after (the state's
# centre).
@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-14 10:00", "2026-09-17 07:00"),  # Monday: Tuesday, Wednesday, Thursday
        ("2026-09-17 10:00", "2026-09-22 07:00"),  # Thursday: Friday, Monday, Tuesday
        (
            "2026-09-03 10:00",
            "2026-09-09 07:00",
        ),  # Thursday: Friday, Tuesday (Monday is Labor Day), Wednesday
        ("2026-09-19 10:00", "2026-09-24 07:00"),  # Saturday counts as Monday: Tuesday, Wednesday, Thursday
    ],
)
def test_hours_from_a_fixed_hour_of_the_next_working_day(called, start):
    clock = clock_json(
        receipt={"only_working_days": True, **SURE},
        notice=hours(48, begins="next_working_day", begins_at="07:00"),
    )
    assert start_of(clock, called) == start


# O.C.G.A. 25-9-6: from 07:00 of the first business day after receipt to 07:00 of the business day after 2 of
# them; a request after 16:30 counts as the next business day's.
@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-14 10:00", "2026-09-17 07:00"),  # Monday: Tuesday and Wednesday
        ("2026-09-14 16:31", "2026-09-18 07:00"),  # counts as Tuesday's: Wednesday and Thursday
        ("2026-09-02 16:31", "2026-09-09 07:00"),  # counts as Thursday's: Friday and Tuesday
        ("2026-09-18 10:00", "2026-09-23 07:00"),  # Friday: Monday and Tuesday
    ],
)
def test_days_from_a_fixed_hour_of_the_next_working_day(called, start):
    clock = clock_json(
        receipt={"cut_off": "16:30", "counts_at": "07:00", **SURE},
        notice=days(
            2, "business days", "next_working", "07:00", begins="next_working_day", begins_at="07:00"
        ),
    )
    assert start_of(clock, called) == start


# Minn. Stat. 216D.04: 48 hours without the day of notification, Saturdays, Sundays and holidays.
# RSMo 319.026: the clock begins at 00:00 after the receipt.
@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-14 10:00", "2026-09-17 00:00"),  # Monday: all of Tuesday and Wednesday
        ("2026-09-18 10:00", "2026-09-23 00:00"),  # Friday: all of Monday and Tuesday
        ("2026-09-03 10:00", "2026-09-09 00:00"),  # Thursday: all of Friday and Tuesday
    ],
)
def test_hours_from_midnight_after_the_receipt(called, start):
    assert start_of(clock_json(notice=hours(48, begins="next_day", begins_at="00:00")), called) == start


# Md. Code, Pub. Util. 12-124: the start chosen is not sooner than 3 and not later than 12 business days after
# the notice: of Tuesday 2026-09-01 from Friday the 4th to Friday the 18th (Monday the 7th is Labor Day).
@pytest.mark.parametrize(
    ("chosen", "start"),
    [
        (None, "2026-09-04 00:00"),
        ("2026-09-10 07:00", "2026-09-10 07:00"),
        ("2026-09-18 07:00", "2026-09-18 07:00"),
        ("2026-09-02 07:00", "2026-09-04 00:00"),
        ("2026-09-21 07:00", None),
    ],
)
def test_a_start_chosen_inside_a_window(chosen, start):
    ahead = {"counted_from": "call", "term": {"count": 12, "unit": "business days"}, **SURE}
    clock = clock_json(notice=days(3, "business days", "last"), latest_start=[ahead])
    found = dates(clock, "2026-09-01 10:00", start=chosen)
    assert local(found.legal_start_at.at) == start
    assert local(found.latest_start_at.at) == "2026-09-18 23:59"
    if chosen == "2026-09-21 07:00":
        assert "wants the start by Fri Sep 18" in found.legal_start_at.working
    if chosen == "2026-09-02 07:00":
        assert "is sooner than that" in found.legal_start_at.working


# N.C.G.S. 87-122: ends at 23:59 of the third working day. Cal. Gov. Code 4216: a working day is 07:00 to
# 17:00. Ind. Code 8-1-26-16: start at 07:00 of the next full day. 73 P.S. 176: a business day is 00:00:00 to
# 23:59:59.
@pytest.mark.parametrize(
    ("count", "day", "at", "start"),
    [
        (3, "last", "23:59", "2026-09-17 23:59"),
        (2, "last", "17:00", "2026-09-16 17:00"),
        (2, "next", "07:00", "2026-09-17 07:00"),
        (3, "next", "00:00", "2026-09-18 00:00"),
    ],
)
def test_where_the_last_day_ends(count, day, at, start):
    assert start_of(clock_json(notice=days(count, "working days", day, at)), "2026-09-14 10:00") == start


@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-14 10:00", "2026-09-17 00:00"),  # Monday, itself the first of three
        ("2026-09-04 10:00", "2026-09-10 00:00"),  # Friday, Tuesday, Wednesday
        ("2026-09-19 10:00", "2026-09-24 00:00"),  # Saturday is none: Monday, Tuesday, Wednesday
    ],
)
def test_a_notice_whose_own_day_is_the_first(called, start):
    # A municipal page on 73 P.S. 176: the day of receipt counts as the first of 3 business days.
    notice = {"term": {"count": 3, "unit": "business days", "first_day_counts": True}, **SURE}
    assert start_of(clock_json(notice=notice), called) == start


# Tex. Util. Code 251.151(b): a notice on a Saturday: Tuesday 11:59, or Wednesday 11:59 where Monday is a
# holiday.
@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-12 00:00", "2026-09-15 11:59"),
        ("2026-09-12 23:59", "2026-09-15 11:59"),
        ("2026-09-05 10:00", "2026-09-09 11:59"),  # Labor Day
        ("2026-05-23 10:00", "2026-05-27 11:59"),  # Memorial Day
        ("2026-10-31 10:00", "2026-11-03 11:59"),  # the clocks go back on the Sunday between
        ("2026-12-26 10:00", "2026-12-29 11:59"),
        ("2026-09-11 15:00", "2026-09-15 15:00"),  # Friday follows the general rule: 9 h, 24 h, 15 h
        ("2026-09-13 15:00", "2026-09-16 00:00"),  # and so does Sunday
    ],
)
def test_the_saturday_rule(called, start):
    assert start_of(clock_json(notice=hours(48, called_on=[TEXAN_SATURDAY])), called) == start


def test_the_saturday_rule_is_not_stretched_to_a_holiday_of_which_it_says_nothing():
    # Tuesday 2028-07-04 is Independence Day; the text names Monday's holidays alone.
    found = dates(clock_json(notice=hours(48, called_on=[TEXAN_SATURDAY])), "2028-07-01 10:00")
    assert found.legal_start_at.at is None
    assert "of which the rule says nothing" in found.legal_start_at.working


@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-14 16:30", "2026-09-17 00:00"),
        ("2026-09-14 16:31", "2026-09-18 00:00"),
        ("2026-09-14 06:59", "2026-09-17 00:00"),
    ],
)
def test_a_minute_about_the_cut_off(called, start):
    receipt = {"opens_at": "07:00", "cut_off": "16:30", "counts_at": "07:00", **SURE}
    assert start_of(clock_json(receipt=receipt), called) == start


def test_a_call_before_opening_runs_from_opening():
    # 26 Del. C. ch. 8, the centre's page: tickets out of hours count as made at 07:00.
    receipt = {
        "opens_at": "07:00",
        "cut_off": "17:00",
        "only_working_days": True,
        "counts_at": "07:00",
        **SURE,
    }
    clock = clock_json(receipt=receipt, notice=hours(48))
    assert start_of(clock, "2026-09-14 05:00") == "2026-09-16 07:00"
    assert start_of(clock, "2026-09-14 17:01") == "2026-09-17 07:00"
    assert start_of(clock, "2026-09-19 05:00") == "2026-09-23 07:00"  # Saturday counts as Monday 07:00


def test_the_law_counts_in_its_own_zone():
    # Ind. Code 8-1-26: Indianapolis time, in the counties of Central time as well. 23:30 there is 00:30 of
    # the next day in Indianapolis.
    zone = {"name": "America/Indiana/Indianapolis", **SURE}
    clock = clock_json(zone=zone, notice=days(2, "full working days", "next", "07:00"))
    found = dates(clock, "2026-09-14 23:30", zone="America/Chicago")
    assert local(found.legal_start_at.at, "America/Chicago") == "2026-09-18 06:00"
    assert "the law counts in America/Indiana/Indianapolis time" in found.legal_start_at.working
    without = dates(clock_json(notice=clock["notice"]), "2026-09-14 23:30", zone="America/Chicago")
    assert local(without.legal_start_at.at, "America/Chicago") == "2026-09-17 07:00"


def test_the_working_is_one_sentence_that_a_foreman_can_follow():
    assert dates(clock_json(), "2026-09-03 14:10").legal_start_at.working == (
        "Called Thu Sep 3, 2026, 2:10 pm EDT; 2 full business days after the day of the call, to Tue Sep 8 "
        "(Mon Sep 7 is Labor Day); may start Wed Sep 9, 2026, 12:00 am EDT."
    )


def test_an_early_start_is_told_and_moves_no_date():
    early = {"is_allowed": True, **SURE}
    found = dates(clock_json(early_start=early), "2026-09-14 08:00").legal_start_at
    assert local(found.at) == "2026-09-17 00:00"
    assert "sooner only once every operator has answered (Invented Code 1)" in found.working


def test_a_start_stated_later_is_the_legal_start_only_where_the_law_binds_it():
    later = "2026-09-21 07:00"
    assert start_of(clock_json(), "2026-09-14 08:00", start=later) == later
    free = clock_json(notice=TWO_FULL_DAYS | {"stated_start_binds": False})
    assert start_of(free, "2026-09-14 08:00", start=later) == "2026-09-17 00:00"


def test_an_emergency_starts_at_once_only_where_the_rule_says_so():
    silent = dates(clock_json(), "2026-09-14 08:00", kind="emergency").legal_start_at
    assert silent.at is None
    assert "says nothing on a ticket of the kind emergency" in silent.working
    rule = {"starts_at_once": True, "conditions": "where life or property is in danger", **SURE}
    found = dates(clock_json(kinds={"emergency": rule}), "2026-09-14 08:00", kind="emergency")
    assert local(found.legal_start_at.at) == "2026-09-14 08:00"
    assert "where life or property is in danger" in found.legal_start_at.working
    assert found.expires_at.at is None


def test_a_kind_may_have_a_notice_of_its_own():
    # K.S.A. 66-1804: a meeting on site puts the start no earlier than the fifth working day.
    meeting = {
        "starts_at_once": False,
        "conditions": "the meeting is held before",
        "notice": days(5, "working days", "last"),
        **SURE,
    }
    clock = clock_json(kinds={"site_meeting": meeting})
    assert start_of(clock, "2026-09-14 08:00", kind="site_meeting") == "2026-09-21 00:00"
    assert start_of(clock, "2026-09-14 08:00") == "2026-09-17 00:00"
