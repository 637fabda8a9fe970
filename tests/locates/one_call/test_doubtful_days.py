"""Days of which nobody is sure are taken as is safe for each date, whatever they turn out to be, and said."""

from datetime import UTC, date, datetime, timedelta
from itertools import product
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from locates.one_call.clock import Call, TicketDates, ticket_dates
from locates.one_call.clock_reader import SAME_TIME, read_clock
from locates.one_call.clock_terms import WORKING_DAY_UNITS
from tests.one_call_clocks import (
    EASTERN,
    SURE,
    TEXAN_SATURDAY,
    UNSURE,
    clock_json,
    dates,
    hours,
    life,
    local,
)

# Monday 2026-09-14 to Friday 25: a plain fortnight, of which Wed 16 and Fri 18 may be holidays.
DOUBTFUL = {
    "doubtful_days": [
        {"name": "Harvest Day", "month": 9, "day": 16},
        {"name": "Founders' Day", "month": 9, "day": 18},
    ]
}
FROM_ANSWERS = {"counted_from": "notice ends", **SURE}


def test_a_start_and_the_answers_take_a_doubtful_day_for_a_holiday_and_say_so():
    # Called Mon 14: Tue 15 and, Wed 16 left out, Thu 17.
    found = dates(clock_json(holidays=DOUBTFUL, response=FROM_ANSWERS), "2026-09-14 10:00")
    assert local(found.legal_start_at.at) == local(found.response_due_at.at) == "2026-09-18 00:00"
    words = "Wed Sep 16 (Harvest Day) is taken for a holiday"
    assert f"{words}, the later start being the safe one: ask the centre; may" in found.legal_start_at.working
    assert f"{words}, the later day being the safe one: ask the centre" in found.response_due_at.working


def test_an_end_takes_doubtful_days_for_working_days_and_names_each():
    # 5 working days after Mon 14: 15, 16, 17, 18 and Mon 21.
    found = dates(
        clock_json(holidays=DOUBTFUL, life=life(5, "working days", "call")), "2026-09-14 10:00"
    ).expires_at
    assert local(found.at) == "2026-09-21 23:59"
    assert (
        "Wed Sep 16 (Harvest Day) and Fri Sep 18 (Founders' Day) are taken for working days, "
        "the sooner end being the safe one: ask the centre"
    ) in found.working


def test_an_end_counted_from_the_start_counts_from_the_soonest_start():
    # The latest start is Fri 18, but the soonest Thu 17 (15 and 16 counted); 5 calendar days from there.
    clock = clock_json(holidays=DOUBTFUL, life=life(5, "calendar days", "legal start"))
    found = dates(clock, "2026-09-14 10:00")
    assert local(found.legal_start_at.at) == "2026-09-18 00:00"
    assert local(found.expires_at.at) == "2026-09-22 23:59"
    assert "is taken for a working day" in found.expires_at.working


def test_a_renewal_is_called_before_doubtful_days_that_may_not_count_for_its_lead():
    # Good to Mon 21 (7 calendar days). 2 working days before that: Mon 21 and, Fri 18 left out, Thu 17.
    # So called on Wed 16, which may be none: Tue 15. The renewal runs on without a notice of its own.
    renewal = {"lead": {"count": 2, "unit": "working days"}, "runs_on": True, **SURE}
    clock = clock_json(holidays=DOUBTFUL, life=life(7, "calendar days", "call"), renewal=renewal)
    found = dates(clock, "2026-09-14 10:00").renew_by
    assert local(found.at) == "2026-09-15 23:59"
    assert "Wed Sep 16 (Harvest Day) and Fri Sep 18 (Founders' Day) are taken for holidays" in found.working
    assert "the sooner call being the safe one" in found.working


def test_a_day_taken_both_ways_is_said_once():
    # Counted into the life of 4 working days (15, 16, 17, 18); left out before the end for the lead of one.
    renewal = {"lead": {"count": 1, "unit": "working days"}, "runs_on": True, **SURE}
    clock = clock_json(holidays=DOUBTFUL, life=life(4, "working days", "call"), renewal=renewal)
    found = dates(clock, "2026-09-14 10:00").renew_by
    assert local(found.at) == "2026-09-15 23:59"  # Thu 17 is the one day; Wed 16 may be no day to call
    assert "are taken for working days in one count and holidays in another, the sooner call" in found.working


def test_a_ticket_that_may_be_over_before_it_starts_has_no_start_and_says_of_which_days_it_hangs():
    clock = clock_json(holidays=DOUBTFUL, life=life(3, "calendar days", "call"))
    found = dates(clock, "2026-09-14 10:00")  # good to Thu 17, may start Fri 18
    assert found.legal_start_at.at is None
    assert "before it could start" in found.legal_start_at.working
    assert "nobody is sure whether Wed Sep 16 (Harvest Day) is a working day" in found.legal_start_at.working
    assert local(found.expires_at.at) == "2026-09-17 23:59"


def test_a_start_that_may_be_later_than_the_law_allows_is_none():
    limit = [{"counted_from": "call", "term": {"count": 3, "unit": "working days"}, **SURE}]
    clock = clock_json(holidays=DOUBTFUL, latest_start=limit)
    # The limit may be Thu 17, the start Fri 18.
    found = dates(clock, "2026-09-14 10:00")
    assert found.legal_start_at.at is None
    assert "the law wants the start by Thu Sep 17" in found.legal_start_at.working
    assert "Harvest Day" in found.legal_start_at.working


def test_a_latest_start_that_may_come_before_the_start_is_none():
    begun = [{"counted_from": "legal start", "term": {"count": 1, "unit": "calendar days"}, **SURE}]
    clock = clock_json(
        holidays=DOUBTFUL
        | {"doubtful_days": [*DOUBTFUL["doubtful_days"], {"name": "Eve", "month": 9, "day": 15}]},
        latest_start=begun,
    )
    # Called Mon 14: the start may be Thu 17, so that work begins by Fri 18, or Tue 22 (17 and 21 count).
    found = dates(clock, "2026-09-14 10:00")
    assert local(found.legal_start_at.at) == "2026-09-22 00:00"
    assert found.latest_start_at.at is None
    assert "it may be as soon as Fri Sep 18" in found.latest_start_at.working


def test_the_saturday_rule_takes_a_doubtful_monday_for_a_holiday_and_never_guesses_about_its_own_day():
    notice = hours(48, called_on=[TEXAN_SATURDAY])
    monday = {"doubtful_days": [{"name": "Harvest Day", "month": 9, "day": 21}]}
    found = dates(clock_json(holidays=monday, notice=notice), "2026-09-19 10:00").legal_start_at
    assert local(found.at) == "2026-09-23 11:59"
    assert "Mon Sep 21 (Harvest Day) is taken for a holiday" in found.working
    tuesday = {"doubtful_days": [{"name": "Harvest Day", "month": 9, "day": 22}]}
    found = dates(clock_json(holidays=tuesday, notice=notice), "2026-09-19 10:00").legal_start_at
    assert found.at is None
    assert "of which the rule says nothing" in found.working


def test_an_hour_that_hangs_on_a_doubtful_day_gives_no_date():
    # Received Wed 16 at 4 pm, or Thu 17 at 7 am; a count of calendar days that rolls on may then end sooner.
    receipt = {"only_working_days": True, "counts_at": "07:00", **SURE}
    term = {"count": 3, "unit": "calendar days", "end": {"at": SAME_TIME}}
    clock = clock_json(
        holidays=DOUBTFUL,
        receipt=receipt,
        life={"term": term, "counted_from": "receipt", "rolls_on": True, **SURE},
    )
    found = dates(clock, "2026-09-16 16:00").expires_at
    assert found.at is None
    assert "at what time of day the receipt of the call is, which hangs on a doubtful day" in found.working
    assert local(dates(clock, "2026-09-15 16:00").expires_at.at) == "2026-09-18 16:00"


def test_a_call_after_the_cut_off_is_received_the_next_working_day_whatever_its_own_day_is():
    # Wed 16 at 5 pm: received on Thu 17 whether the Wednesday counts or not; Fri 18 is left out as well, so
    # that the two full days are Mon 21 and Tue 22.
    clock = clock_json(holidays=DOUBTFUL, receipt={"cut_off": "16:30", "counts_at": "07:00", **SURE})
    found = dates(clock, "2026-09-16 17:00").legal_start_at
    assert local(found.at) == "2026-09-23 00:00"
    assert "counts as received Thu Sep 17, 7:00 am EDT" in found.working
    for counts in (True, False):
        settled = with_days(clock, [(date(2026, 9, 16), counts)])
        assert of(settled, datetime(2026, 9, 16, 21, 0, tzinfo=UTC)).legal_start_at.at == found.at


def test_a_holiday_on_the_day_of_a_late_call_makes_no_start_sooner():
    # Thu 1 Feb 2024, 7 pm: after the cut-off, so received Fri 2 at midnight, a holiday or not.
    receipt = {"cut_off": "16:30", "counts_at": "00:00", **SURE}
    notice = {"term": {"count": 1, "unit": "working days", "end": {"day": "last", "at": "00:00"}}, **SURE}
    clock = clock_json(receipt=receipt, notice=notice)
    at = datetime(2024, 2, 2, 0, 0, tzinfo=UTC)
    off = with_days(clock, [(date(2024, 2, 1), False)])
    assert of(read_clock(clock), at).legal_start_at.at <= of(off, at).legal_start_at.at


def test_another_doubt_beside_a_doubtful_day_gives_no_date_and_tells_both():
    unsure = {"term": {"count": 2, "unit": "full business days"}, **UNSURE}
    found = dates(clock_json(holidays=DOUBTFUL, notice=unsure), "2026-09-14 10:00").legal_start_at
    assert found.at is None
    assert found.working == (
        "Not computed, as this is not certain: two readings differ (Invented Code 2); Wed Sep 16 "
        "(Harvest Day) is taken for a holiday, the later start being the safe one: ask the centre; as it was "
        "read, it would be Fri Sep 18, 2026, 12:00 am EDT; ask the one-call centre and enter the date."
    )


@pytest.mark.parametrize(("is_working", "start"), [(True, "2026-09-17 00:00"), (False, "2026-09-18 00:00")])
def test_a_day_of_the_centres_own_settles_the_doubt(is_working, start):
    own = {"day": "2026-09-16", "is_working": is_working, "name": "told by the centre"}
    clock = clock_json(holidays=DOUBTFUL, working_days={"centre_days": [own]})
    found = dates(clock, "2026-09-14 10:00").legal_start_at
    assert local(found.at) == start
    assert "being the safe one" not in found.working


DAY_UNITS = (*WORKING_DAY_UNITS, "calendar days")
CLOCK_TIMES = st.sampled_from(["00:00", "07:00", "11:59", "17:00", "23:59", SAME_TIME])
CALLS = st.datetimes(datetime(2026, 9, 10), datetime(2026, 9, 22), timezones=st.just(UTC)).map(
    lambda at: at.replace(second=0, microsecond=0)
)
UNSURE_DAYS = st.sets(
    st.dates(date(2026, 9, 10), date(2026, 10, 2)).filter(lambda day: day.weekday() < 5),
    min_size=1,
    max_size=3,
)


@st.composite
def terms(draw, longest: int):
    term = {"count": draw(st.integers(1, longest)), "unit": draw(st.sampled_from(DAY_UNITS))}
    term["first_day_counts"] = draw(st.booleans())
    end_day = draw(st.sampled_from(["last", "next", "next_working"]))
    return term | {"end": {"day": end_day, "at": draw(CLOCK_TIMES)}}


def takes_time(term) -> bool:
    """Whether a notice ends after its call: one of a single day, the call's own, may end with or before it.

    No law has such a one, and what is not after the call is no date.
    """
    return term["count"] > 1 or not term["first_day_counts"] or term["end"]["day"] != "last"


@st.composite
def clocks(draw):
    """A clock with every part that a doubtful day may move."""
    begins = draw(st.sampled_from(["receipt", "next_day", "next_working_day"]))
    term = draw(
        terms(4).filter(takes_time)
        | st.fixed_dictionaries(
            {"count": st.integers(1, 96), "unit": st.sampled_from(["hours", "working hours"])}
        )
    )
    notice = {"term": term, "begins": begins, **SURE}
    if begins != "receipt":
        notice["begins_at"] = draw(st.sampled_from(["00:00", "07:00"]))
    if draw(st.booleans()):
        notice["called_on"] = [TEXAN_SATURDAY]
    receipt = {
        "cut_off": "16:30",
        "only_working_days": draw(st.booleans()),
        "counts_at": draw(st.sampled_from(["00:00", "07:00"])),
        **SURE,
    }
    froms = ["call", "receipt", "notice begins", "notice ends", "legal start", "stated start"]
    span = {
        "counted_from": draw(st.sampled_from([*froms, "answers due"])),
        "rolls_on": draw(st.booleans()),
        **SURE,
    }
    window = draw(
        st.none()
        | st.builds(lambda n, u: {"count": n, "unit": u}, st.integers(5, 9), st.sampled_from(DAY_UNITS))
    )
    lead = draw(
        st.none()
        | st.builds(lambda n, u: {"count": n, "unit": u}, st.integers(1, 4), st.sampled_from(DAY_UNITS))
    )
    limit = {"counted_from": draw(st.sampled_from(froms)), "term": draw(terms(10)), **SURE}
    return clock_json(
        working_days={"opens_at": "07:00", "closes_at": "17:00"},
        receipt=draw(st.none() | st.just(receipt)),
        notice=notice,
        life={"term": draw(terms(15)), **span},
        renewal={"lead": lead, "not_before": window, "runs_on": False, **SURE},
        response={"counted_from": "notice ends", "term": draw(st.none() | terms(2)), **SURE},
        latest_start=draw(st.just([]) | st.just([limit])),
    )


def with_days(clock, told):
    """The clock with days of the centre's own in the place of doubtful ones."""
    own = [{"day": f"{day}", "is_working": counts, "name": "told"} for day, counts in told]
    return read_clock(clock | {"working_days": clock["working_days"] | {"centre_days": own}})


def of(clock, at, start_at=None, kind="routine") -> TicketDates:
    return ticket_dates(clock, Call(kind=kind, called_at=at, time_zone=EASTERN, start_at=start_at))


@settings(deadline=None, max_examples=60)
@given(clock=clocks(), at=CALLS, unsure=UNSURE_DAYS, wait=st.none() | st.integers(0, 60 * 24 * 12))
def test_whatever_the_doubtful_days_are_no_start_is_later_no_end_sooner_and_no_renewal_late(
    clock, at, unsure, wait
):
    clock["working_days"]["holidays"]["doubtful_days"] = [
        {"name": f"Day {day}", "month": day.month, "day": day.day} for day in sorted(unsure)
    ]
    start_at = None if wait is None else at + timedelta(minutes=wait)
    found = of(read_clock(clock), at, start_at)
    in_order(found, at)
    for resolution in product((False, True), repeat=len(unsure)):
        settled = with_days(clock, zip(sorted(unsure), resolution, strict=True))
        true = of(settled, at, start_at)
        for name in ("legal_start_at", "response_due_at"):
            if getattr(found, name).at is not None:
                assert getattr(true, name).at <= getattr(found, name).at, (name, resolution)
        for name in ("latest_start_at", "expires_at"):
            if getattr(found, name).at is not None:
                assert getattr(true, name).at >= getattr(found, name).at, (name, resolution)
        if found.renew_by.at is not None:
            assert true.renew_by.at is not None
            # On a day that surely counts it is the last call; else the call itself left no such day.
            called_on = found.renew_by.at.astimezone(ZoneInfo(EASTERN)).date()
            if called_on.weekday() < 5 and called_on not in unsure:
                assert true.renew_by.at >= found.renew_by.at, resolution
            again = of(settled, found.renew_by.at, kind="renewal").legal_start_at.at
            assert again is None or again <= true.expires_at.at


def in_order(found: TicketDates, at: datetime) -> None:
    """What the database demands of a ticket's dates."""
    start, due, latest, renewed, ends = (
        getattr(found, name).at
        for name in ("legal_start_at", "response_due_at", "latest_start_at", "renew_by", "expires_at")
    )
    assert start is None or at <= start
    assert due is None or at <= due
    assert latest is None or at <= latest
    assert renewed is None or at <= renewed <= ends
    assert start is None or ends is None or start < ends
    assert start is None or latest is None or start <= latest
    assert latest is None or ends is None or latest <= ends


@settings(deadline=None, max_examples=60)
@given(clock=clocks(), at=CALLS, unsure=UNSURE_DAYS)
def test_a_clock_whose_doubtful_days_are_all_settled_says_nothing_of_doubt(clock, at, unsure):
    clock["working_days"]["holidays"]["doubtful_days"] = [
        {"name": f"Day {day}", "month": day.month, "day": day.day} for day in sorted(unsure)
    ]
    settled = of(with_days(clock, [(day, True) for day in unsure]), at)
    assume(settled.legal_start_at.at is not None)
    assert "safe one" not in settled.legal_start_at.working
    assert "safe one" not in settled.expires_at.working
