"""Each holiday that moves a date is named in its sentence, wherever on the way it was met: worked by hand.

2026-09-07 is Labor Day, a Monday; Thanksgiving is Thursday 2026-11-26, and the Friday after it is a holiday
of Virginia's as well (Va. Code 2.2-3300).
"""

import json
from pathlib import Path

from locates.one_call import rules
from tests.one_call_clocks import SURE, clock_json, dates, days, hours, life

VIRGINIA = json.loads(Path(rules.__file__).with_name("clocks.json").read_text(encoding="utf-8"))["VA"]
NAMED = "(Thu Nov 26 is Thanksgiving Day, Fri Nov 27 is Day After Thanksgiving)"


def sentence(clock, called):
    return dates(clock, called).legal_start_at.working


# Va. Code 56-265.17: 48 hours from 07:00 of the next working day after the request.
def test_holidays_before_the_notice_begins():
    assert sentence(VIRGINIA, "2026-11-25 14:10") == (
        f"Called Wed Nov 25, 2026, 2:10 pm EST; the next working day is Mon Nov 30 {NAMED}; "
        "48 hours on working days from Mon Nov 30, 7:00 am EST; may start Wed Dec 2, 2026, 7:00 am EST."
    )


def test_holidays_within_the_notice_are_named_once():
    assert sentence(VIRGINIA, "2026-11-24 14:10") == (
        "Called Tue Nov 24, 2026, 2:10 pm EST; "
        f"48 hours on working days from Wed Nov 25, 7:00 am EST {NAMED}; "
        "may start Tue Dec 1, 2026, 7:00 am EST."
    )


def test_nothing_is_said_of_a_weekend_before_the_notice_begins():
    assert sentence(VIRGINIA, "2026-12-04 14:10") == (
        "Called Fri Dec 4, 2026, 2:10 pm EST; "
        "48 hours on working days from Mon Dec 7, 7:00 am EST; may start Wed Dec 9, 2026, 7:00 am EST."
    )


# 20VAC5-309: a request on a weekend or holiday counts as entered the first working day after.
def test_holidays_between_a_call_and_its_receipt():
    said = sentence(VIRGINIA, "2026-11-26 10:00")
    assert (
        f"counts as received Mon Nov 30, 12:00 am EST {NAMED}; 48 hours on working days from Tue Dec 1"
        in said
    )
    assert said.count("Thanksgiving Day") == 1


# O.C.G.A. 25-9-6: a request after 16:30 counts as the next business day's.
def test_a_holiday_between_the_cut_off_and_the_receipt():
    clock = clock_json(receipt={"cut_off": "16:30", "counts_at": "07:00", **SURE})
    said = sentence(clock, "2026-09-04 16:31")
    received = "a call after 4:30 pm counts as received Tue Sep 8, 7:00 am EDT (Mon Sep 7 is Labor Day)"
    assert f"{received}; 2 full business days after Tue Sep 8, to Thu Sep 10; may start" in said


def test_a_holiday_after_the_receipt_and_one_before_the_notice_begins_are_each_said_where_they_are():
    # Called Tue after the cut-off at noon, so received on Wed; Thu is passed over before 07:00 of Fri.
    clock = clock_json(
        receipt={"cut_off": "12:00", "counts_at": "07:00", **SURE},
        notice=hours(48, begins="next_working_day", begins_at="07:00"),
    )
    said = sentence(clock, "2026-11-24 13:00")
    assert (
        "counts as received Wed Nov 25, 7:00 am EST; the next working day is Fri Nov 27 "
        "(Thu Nov 26 is Thanksgiving Day); 48 hours on working days from Fri Nov 27, 7:00 am EST; may start"
    ) in said


# Days of notice are counted from the receipt: where they are said to begin moves nothing, and is not told.
def test_days_of_notice_name_a_holiday_once():
    clock = clock_json(
        notice=days(2, "business days", "next_working", "07:00", begins="next_working_day", begins_at="07:00")
    )
    said = sentence(clock, "2026-09-04 10:00")
    assert (
        "2 business days after the day of the call, to Wed Sep 9 (Mon Sep 7 is Labor Day); may start" in said
    )
    assert said.count("Labor Day") == 1


# Fla. Stat. 556.105, older text: a last day on a weekend or holiday moves on.
def test_a_holiday_on_which_a_life_would_end():
    clock = clock_json(life=life(30, "calendar days", "call", rolls_on=True))
    assert (
        "so it moves on to Tue Sep 8 (Mon Sep 7 is Labor Day)"
        in dates(clock, "2026-08-08 10:00").expires_at.working
    )


# Va. Code 56-265.17, from memory: a renewal is called 3 working days before the end.
def test_a_holiday_within_the_lead_of_a_renewal():
    clock = clock_json(
        life=life(28, "calendar days", "call"),
        renewal={"lead": {"count": 3, "unit": "working days"}, "runs_on": True, **SURE},
    )
    said = dates(clock, "2026-08-12 10:00").renew_by.working
    assert "not counting the day of the call (Mon Sep 7 is Labor Day); call the renewal by Thu Sep 3" in said


def test_a_renewal_that_would_be_called_on_a_holiday():
    clock = clock_json(life=life(28, "calendar days", "call"), renewal={"runs_on": True, **SURE})
    said = dates(clock, "2026-08-10 10:00").renew_by.working
    assert "Fri Sep 4 is the last working day before Mon Sep 7 (Mon Sep 7 is Labor Day)" in said
