"""How long a ticket is good, when it must be started and renewed: cases worked by hand from the text cited.

2026-09-07 is Labor Day, 2026-10-12 Columbus Day, both Mondays; the texts are those of the shipped citations.
"""

import json
from pathlib import Path

import pytest

from locates.one_call import rules
from tests.one_call_clocks import EASTERN, SURE, clock_json, dates, days, hours, life, local

ADDED = {"counted_from": "call", **SURE}


def end_of(clock, called, **more):
    return local(dates(clock, called, **more).expires_at.at)


# Cal. Gov. Code 4216.2: 28 calendar days from the date of issuance.
@pytest.mark.parametrize(
    ("called", "end"),
    [
        ("2026-09-01 10:00", "2026-09-29 23:59"),
        ("2026-12-15 10:00", "2027-01-12 23:59"),  # over the year's end
        ("2028-02-10 10:00", "2028-03-09 23:59"),  # over a 29 February
        ("2027-02-10 10:00", "2027-03-10 23:59"),  # without one
    ],
)
def test_calendar_days_from_the_call(called, end):
    assert end_of(clock_json(life=life(28, "calendar days", "call")), called) == end


# Tenn. Code 65-31-106: 15 calendar days from the start date stated. K.S.A. 66-1804: 20 from the excavation
# start.
@pytest.mark.parametrize(
    ("stated", "end"),
    [
        ("2026-09-21 07:00", "2026-10-06 23:59"),
        ("2026-12-20 07:00", "2027-01-04 23:59"),
        (None, "2026-10-02 23:59"),  # none stated: from the legal start, Thursday the 17th
    ],
)
def test_days_from_the_start_stated(stated, end):
    clock = clock_json(life=life(15, "calendar days", "stated start"))
    found = dates(clock, "2026-09-14 10:00", start=stated).expires_at
    assert local(found.at) == end
    assert ("the notice states no start" in found.working) is (stated is None)


# Ala. Code 37-15-4: 20 working days; N.C.G.S. 87-122: 15 full working days from the day of the notice.
@pytest.mark.parametrize(
    ("count", "counted_from", "called", "end"),
    [
        (
            20,
            "legal start",
            "2026-09-14 10:00",
            "2026-10-16 23:59",
        ),  # after Thu 17; Columbus Day does not count
        (15, "call", "2026-09-01 10:00", "2026-09-23 23:59"),  # after Tue 1; Labor Day does not count
        (15, "call", "2026-12-18 10:00", "2027-01-12 23:59"),  # Christmas and New Year's Day, both Fridays
    ],
)
def test_working_days_of_life(count, counted_from, called, end):
    assert end_of(clock_json(life=life(count, "working days", counted_from)), called) == end


def test_days_from_the_day_on_which_the_hours_end():
    # Iowa Code 480.4(1)(a): 25 calendar days from the day on which the 48 hours end, here Thursday the 17th.
    clock = clock_json(notice=hours(48), life=life(25, "calendar days", "notice ends"))
    assert end_of(clock, "2026-09-15 10:00") == "2026-10-12 23:59"


def test_days_from_the_day_on_which_answers_are_due():
    # C.R.S. 9-1.5-103(4), (6.5): 30 days from the due date, which is 2 business days after the day of notice.
    due = {"counted_from": "call", "term": {"count": 2, "unit": "business days"}, **SURE}
    clock = clock_json(response=due, life=life(30, "calendar days", "answers due"))
    found = dates(clock, "2026-09-14 10:00")
    assert local(found.response_due_at.at) == "2026-09-16 23:59"
    assert local(found.expires_at.at) == "2026-10-16 23:59"


def test_days_from_the_beginning_of_the_notice():
    # Va. Code 56-265.17: 15 working days from 07:00 of the next working day, here Tuesday the 15th.
    clock = clock_json(
        notice=hours(48, begins="next_working_day", begins_at="07:00"),
        life=life(15, "working days", "notice begins"),
    )
    assert end_of(clock, "2026-09-14 10:00") == "2026-10-06 23:59"  # the clock names no hour of the end


def shipped(code):
    """The clock of a state, its life taken for sure."""
    text = Path(rules.__file__).with_name("clocks.json").read_text(encoding="utf-8")
    clock = json.loads(text)[code]
    life_part = {name: value for name, value in clock["life"].items() if name != "doubt"}
    return clock | {"life": life_part | SURE}


# Va. Code 56-265.17: 15 working days from 07:00 of the next working day, so to 07:00, not to midnight.
@pytest.mark.parametrize(
    ("called", "end"),
    [
        ("2026-09-14 10:00", "2026-10-06 07:00"),  # after Tue 15: 3 + 5 + 5 + Mon and Tue
        ("2026-11-25 14:10", "2026-12-21 07:00"),  # after Mon Nov 30: 4 + 5 + 5 + Mon
        # After Tue Oct 27: 3, then 4 without Election Day, 4 without Veterans Day, 4; the clocks go back.
        ("2026-10-26 10:00", "2026-11-19 07:00"),
    ],
)
def test_a_life_from_seven_in_the_morning_ends_at_seven_in_the_morning(called, end):
    assert end_of(shipped("VA"), called) == end


# Minn. R. 7560.0350: 14 calendar days from the start time stated.
@pytest.mark.parametrize(
    ("called", "stated", "end"),
    [
        ("2026-11-30 14:00", "2026-12-07 08:00", "2026-12-21 08:00"),
        ("2026-11-30 14:00", None, "2026-12-17 00:00"),  # from Thu Dec 3, when the 48 hours have run
    ],
)
def test_a_life_from_a_start_time_ends_at_that_time(called, stated, end):
    assert end_of(shipped("MN"), called, start=stated) == end


def test_days_to_the_hour_of_the_call():
    # Miss. Code 77-13: 14 calendar days from the date and time of the request; the clocks go back on November
    # 1.
    term = {"count": 14, "unit": "calendar days", "end": {"day": "last", "at": "same time"}}
    clock = clock_json(life={"term": term, "counted_from": "call", **SURE})
    assert end_of(clock, "2026-09-14 10:07") == "2026-09-28 10:07"
    assert end_of(clock, "2026-10-26 10:07") == "2026-11-09 10:07"


def test_a_first_day_that_counts():
    # Md. Code, Pub. Util. 12-124, the older page: 12 business days, the day after the ticket is sent being
    # the first.
    term = {"count": 12, "unit": "business days", "first_day_counts": True}
    clock = clock_json(life={"term": term, "counted_from": "call", **SURE})
    assert end_of(clock, "2026-09-14 10:00") == "2026-09-29 23:59"


@pytest.mark.parametrize(
    ("called", "end"),
    [
        ("2026-09-02 10:00", "2026-10-02 23:59"),  # a Friday stays
        ("2026-09-03 10:00", "2026-10-05 23:59"),  # Saturday the 3rd rolls on to Monday
        ("2026-09-11 10:00", "2026-10-13 23:59"),  # Sunday the 11th, and Monday is Columbus Day
    ],
)
def test_a_last_day_that_does_not_count_rolls_on(called, end):
    # Fla. Stat. 556.105, older text: 30 days, the last rolling on from a weekend or holiday.
    assert end_of(clock_json(life=life(30, "calendar days", "call", rolls_on=True)), called) == end


def test_a_life_that_is_no_fixed_term_has_no_date_and_says_what_ends_it():
    # RSMo 319.030: while the marks stay visible.
    words = "while the marks stay visible"
    found = dates(clock_json(life={"no_fixed_term": words, **SURE}, renewal=SURE), "2026-09-14 10:00")
    assert found.expires_at.at is None
    assert words in found.expires_at.working
    assert found.renew_by.at is None


@pytest.mark.parametrize(
    ("limits", "latest"),
    [
        # N.J.A.C. 14:2-3.3: begun within 10 business days of the notice.
        ([ADDED | {"term": {"count": 10, "unit": "business days"}}], "2026-09-28 23:59"),
        # Wis. Stat. 182.0175: begun within 10 days of the start stated.
        (
            [ADDED | {"counted_from": "stated start", "term": {"count": 10, "unit": "calendar days"}}],
            "2026-09-27 23:59",
        ),
        # La. R.S. 40:1749.13: begun within 120 hours, without weekends and holidays, after the time to mark
        # by.
        (
            [ADDED | {"counted_from": "notice ends", "term": {"count": 120, "unit": "hours"}}],
            "2026-09-24 00:00",
        ),
        # MCL 460.723: the first of two limits counts.
        (
            [
                ADDED | {"term": {"count": 14, "unit": "calendar days"}},
                ADDED | {"counted_from": "stated start", "term": {"count": 14, "unit": "calendar days"}},
            ],
            "2026-09-28 23:59",
        ),
    ],
)
def test_the_latest_start(limits, latest):
    found = dates(clock_json(latest_start=limits), "2026-09-14 10:00")
    assert local(found.latest_start_at.at) == latest


def test_the_latest_start_is_not_after_the_ticket():
    limit = ADDED | {"term": {"count": 60, "unit": "calendar days"}}
    found = dates(
        clock_json(latest_start=[limit], life=life(10, "calendar days", "call")), "2026-09-14 10:00"
    )
    assert found.latest_start_at.at == found.expires_at.at


def test_a_ticket_that_ends_before_its_start_has_none():
    clock = clock_json(life=life(10, "calendar days", "call"))
    found = dates(clock, "2026-09-14 10:00", start="2026-10-01 07:00")
    assert found.legal_start_at.at is None
    assert "before it could start" in found.legal_start_at.working


# Ala. Code 37-15-4: called at least 2 working days before the end, the day of the notice not counted. The new
# ticket starts after two working days as well: with an end at 23:59 it must be called a day sooner than the
# lead alone says.
@pytest.mark.parametrize(
    ("called", "end", "call_by"),
    [
        (
            "2026-09-01 10:00",
            "2026-09-29 23:59",
            "2026-09-24 23:59",
        ),  # Tuesday: Friday and Monday come between
        ("2026-09-03 10:00", "2026-10-01 23:59", "2026-09-28 23:59"),  # Thursday: Tuesday and Wednesday
        ("2026-09-15 10:00", "2026-10-13 23:59", "2026-10-07 23:59"),  # Tuesday after Columbus Day: Thu, Fri
    ],
)
def test_a_lead_in_working_days_and_a_new_notice_that_leaves_no_gap(called, end, call_by):
    lead = {"lead": {"count": 2, "unit": "working days"}, **SURE}
    found = dates(clock_json(life=life(28, "calendar days", "call"), renewal=lead), called)
    assert (local(found.expires_at.at), local(found.renew_by.at)) == (end, call_by)


@pytest.mark.parametrize(
    ("count", "unit", "call_by"),
    [
        (2, "full working days", "2026-09-25 23:59"),  # A.R.S. 40-360.22: Monday and Tuesday follow
        (3, "working days", "2026-09-24 23:59"),  # T.C.A. 65-31-106: Friday, Monday and Tuesday
        (2, "calendar days", "2026-09-25 23:59"),  # O.C.G.A. 25-9-7, secondary text: the Friday before
    ],
)
def test_the_lead_alone_where_a_renewal_needs_no_notice(count, unit, call_by):
    lead = {"lead": {"count": count, "unit": unit}, "runs_on": True, **SURE}
    found = dates(clock_json(life=life(28, "calendar days", "call"), renewal=lead), "2026-09-01 10:00")
    assert local(found.expires_at.at) == "2026-09-29 23:59"
    assert local(found.renew_by.at) == call_by


def test_a_renewal_accepted_only_in_a_window():
    # 220 ILCS 50/4: extended between day 20 and day 25. Miss. Code 77-13: 3 to 4 working days before the end.
    window = {"from_day": 20, "runs_on": True, **SURE}
    clock = clock_json(life=life(25, "calendar days", "call"), renewal=window)
    found = dates(clock, "2026-09-01 10:00").renew_by
    assert local(found.at) == "2026-09-25 23:59"  # ends on Saturday the 26th
    assert "accepted from Mon Sep 21" in found.working
    lead = {
        "lead": {"count": 3, "unit": "working days"},
        "not_before": {"count": 4, "unit": "working days"},
        **SURE,
    }
    clock = clock_json(
        notice=days(3, "working days", "last"), life=life(14, "calendar days", "call"), renewal=lead
    )
    found = dates(clock, "2026-09-10 10:00").renew_by
    assert local(found.at) == "2026-09-21 23:59"  # ends Thursday the 24th
    assert "accepted from Fri Sep 18" in found.working


def test_a_window_that_opens_too_late_gives_no_date():
    # N.C.G.S. 87-122: an update from the 12th full working day; here the new notice takes five.
    clock = clock_json(
        notice=days(5, "full working days"),
        life=life(15, "full working days", "call"),
        renewal={"from_day": 12, **SURE},
    )
    found = dates(clock, "2026-09-01 10:00").renew_by
    assert found.at is None
    assert "would leave a gap" in found.working


def test_a_renewal_after_the_cut_off_counts_as_the_next_days():
    # Fla. Stat. 556.105: a request out of hours counts as received at the start of the next business day.
    clock = clock_json(
        receipt={"cut_off": "16:30", "only_working_days": True, "counts_at": "07:00", **SURE},
        life=life(30, "calendar days", "call"),
        renewal=SURE,
    )
    # Ends Saturday 2026-10-03; Thursday and Friday are the two full days.
    assert local(dates(clock, "2026-09-03 10:00").renew_by.at) == "2026-09-30 16:30"


def test_a_ticket_shorter_than_its_own_notice_cannot_be_renewed_in_time():
    clock = clock_json(
        life=life(1, "calendar days", "legal start"), renewal=SURE, notice=days(5, "working days")
    )
    found = dates(clock, "2026-09-14 10:00")
    assert local(found.expires_at.at) == "2026-09-23 23:59"  # Tuesday the 22nd and a day
    assert local(found.renew_by.at) == "2026-09-15 23:59"  # five days of notice end with Tuesday the 22nd
    tight = clock_json(
        life=life(5, "calendar days", "call"), renewal=SURE, notice=days(5, "working days", "last")
    )
    assert dates(tight, "2026-09-14 10:00").renew_by.at is None


def test_a_ticket_of_another_zone_ends_with_that_zones_day():
    zone = {"name": "America/Chicago", **SURE}
    assert end_of(clock_json(zone=zone, life=life(28, "calendar days", "call")), "2026-09-01 10:00") == (
        "2026-09-30 00:59"
    )
    assert EASTERN == "America/New_York"
