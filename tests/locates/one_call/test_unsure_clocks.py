"""What is not sure or not read gives no date and says what to find out; doubtful days are safely taken."""

import pytest

from locates.one_call.clock import no_dates
from tests.one_call_clocks import SURE, TWO_FULL_DAYS, UNSURE, clock_json, dates, hours, life, local

LIFE = life(28, "calendar days", "call")
NAMES = ("legal_start_at", "response_due_at", "latest_start_at", "renew_by", "expires_at")


def test_a_clock_that_says_nothing_gives_no_date_and_a_reason_for_each():
    found = dates(clock_json(notice=None), "2026-09-14 10:00")
    for name in NAMES:
        date = getattr(found, name)
        assert date.at is None
        assert date.working.startswith("Not computed: ")
        assert date.working.endswith("ask the one-call centre and enter the date.")
    assert found.silence.policy == "wait"


def test_a_rule_without_a_clock_gives_no_date():
    found = no_dates("it was not read")
    assert [getattr(found, name).at for name in NAMES] == [None] * 5
    assert "it was not read" in found.expires_at.working


def test_a_notice_that_is_not_sure_gives_no_start_and_tells_both_doubt_and_reading():
    unsure = {"term": TWO_FULL_DAYS["term"], **UNSURE}
    found = dates(clock_json(notice=unsure), "2026-09-03 14:10").legal_start_at
    assert found.at is None
    assert found.working == (
        "Not computed, as this is not certain: two readings differ (Invented Code 2); as it was read, "
        "it would be Wed Sep 9, 2026, 12:00 am EDT; ask the one-call centre and enter the date."
    )


def test_a_doubt_reaches_every_date_that_rests_on_it_and_no_other():
    unsure = {"term": TWO_FULL_DAYS["term"], **UNSURE}
    response = {"counted_from": "notice ends", **SURE}
    from_start = life(28, "calendar days", "legal start")
    found = dates(clock_json(notice=unsure, response=response, life=from_start), "2026-09-03 14:10")
    assert (found.response_due_at.at, found.expires_at.at) == (None, None)
    assert (
        local(dates(clock_json(notice=unsure, life=LIFE), "2026-09-03 14:10").expires_at.at)
        == "2026-10-01 23:59"
    )


def test_holidays_that_are_not_sure_are_doubtful_each_for_itself():
    clock = clock_json(holidays={"is_sure": False, "doubt": "the list was not read"})
    met = dates(clock, "2026-09-03 10:00").legal_start_at  # Fri 4 and, Labor Day left out, Tue 8
    assert local(met.at) == "2026-09-09 00:00"
    assert "Mon Sep 7 (Labor Day) is taken for a holiday" in met.working
    unmet = dates(clock, "2026-09-14 10:00").legal_start_at
    assert local(unmet.at) == "2026-09-17 00:00"
    assert "taken for" not in unmet.working


@pytest.mark.parametrize(
    ("grounds", "called", "start", "named"),
    [
        # Saturday 2026-07-04 may be observed on Friday the 3rd: Thu 2 and Mon 6.
        (
            {"saturday": "doubtful"},
            "2026-07-01 10:00",
            "2026-07-07 00:00",
            "Fri Jul 3 (Independence Day, observed)",
        ),
        # Virginia's Election Day, Tue 2026-11-03, is on no federal list: Wed 4 and Thu 5.
        (
            {"saturday": "none", "doubtful_lists": ["state"]},
            "2026-11-02 10:00",
            "2026-11-06 00:00",
            "Tue Nov 3 (Election Day)",
        ),
    ],
)
def test_a_start_is_the_later_one_where_a_day_is_doubtful_and_names_it(grounds, called, start, named):
    found = dates(clock_json(holidays=grounds), called).legal_start_at
    assert local(found.at) == start
    assert f"{named} is taken for a holiday, the later start being the safe one" in found.working


def test_a_working_week_that_is_not_sure_stops_every_count_of_working_days():
    clock = clock_json(working_days={"is_sure": False, "doubt": "Saturdays may count"}, life=LIFE)
    found = dates(clock, "2026-09-14 10:00")
    assert found.legal_start_at.at is None
    assert "Saturdays may count" in found.legal_start_at.working
    assert found.expires_at.at is not None  # calendar days ask no week


def test_a_cut_off_that_is_not_sure_matters_only_to_a_call_after_it():
    clock = clock_json(receipt={"cut_off": "16:30", **UNSURE})
    assert dates(clock, "2026-09-14 16:30").legal_start_at.at is not None
    assert dates(clock, "2026-09-14 16:31").legal_start_at.at is None


def test_holidays_of_a_year_without_a_published_list_are_not_known():
    found = dates(clock_json(), "2150-09-14 10:00").legal_start_at
    assert found.at is None
    assert "which days of 2150 are holidays" in found.working


def test_an_early_start_that_is_not_sure_is_not_told():
    early = {"is_allowed": True, **UNSURE}
    assert "sooner" not in dates(clock_json(early_start=early), "2026-09-14 10:00").legal_start_at.working


@pytest.mark.parametrize("policy", ["wait", "call_again", "go_on_with_care"])
@pytest.mark.parametrize("grounds", [SURE, UNSURE])
def test_silence_means_to_wait_unless_the_rule_surely_says_otherwise(policy, grounds):
    said = {"policy": policy, "words": "A silent operator has no line.", **grounds}
    found = dates(clock_json(silence=said), "2026-09-14 10:00").silence
    assert found.policy == (policy if grounds is SURE else "wait")
    assert grounds["citation"] in found.words


@pytest.mark.parametrize(
    ("called", "start"),
    [
        (
            "2026-03-05 10:00",
            "2026-03-09 10:00",
        ),  # the clocks go forward on Sunday 2026-03-08, which does not run
        ("2026-10-29 10:00", "2026-11-02 10:00"),  # and back on Sunday 2026-11-01
        ("2026-12-30 10:00", "2027-01-04 10:00"),  # over the year's end: Friday is New Year's Day
        ("2028-02-28 10:00", "2028-03-01 10:00"),  # over a 29 February
        ("2027-02-26 10:00", "2027-03-02 10:00"),  # and without one: Friday to Tuesday
    ],
)
def test_two_days_of_hours_over_odd_days(called, start):
    assert local(dates(clock_json(notice=hours(48)), called).legal_start_at.at) == start


def test_hours_over_a_change_of_the_clocks_are_real_hours():
    # A law whose hours run on Sundays too: 24 h from Saturday noon are 23 h by the clock, or 25.
    every_day = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
    clock = clock_json(working_days={"weekdays": every_day}, notice=hours(24))
    assert local(dates(clock, "2026-03-07 12:00").legal_start_at.at) == "2026-03-08 13:00"
    assert local(dates(clock, "2026-10-31 12:00").legal_start_at.at) == "2026-11-01 11:00"


def test_an_end_in_an_hour_that_comes_twice_is_the_first_and_one_that_is_skipped_the_sooner():
    term = {"count": 1, "unit": "calendar days", "end": {"day": "last", "at": "01:30"}}
    clock = clock_json(life={"term": term, "counted_from": "call", **SURE})
    assert dates(clock, "2026-10-31 10:00").expires_at.working.endswith("1:30 am EDT.")
    term["end"]["at"] = "02:30"
    clock = clock_json(life={"term": term, "counted_from": "call", **SURE})
    assert dates(clock, "2026-03-07 10:00").expires_at.working.endswith("1:30 am EST.")
