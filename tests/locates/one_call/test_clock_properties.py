"""What holds of any clock and any call."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from locates.one_call.clock import Call, TicketDates, ticket_dates
from locates.one_call.clock_reader import read_clock
from locates.one_call.clock_terms import WORKING_DAY_UNITS
from tests.one_call_clocks import EASTERN, SURE, TEXAN_SATURDAY, clock_json, hours

DAY_UNITS = (*WORKING_DAY_UNITS, "calendar days")
CLOCK_TIMES = st.sampled_from(["00:00", "07:00", "11:59", "17:00", "23:59"])
CALLS = st.datetimes(
    datetime(2024, 1, 1), datetime(2030, 12, 31), timezones=st.just(UTC), allow_imaginary=False
).map(lambda at: at.replace(second=0, microsecond=0))


@st.composite
def ends(draw):
    return {"day": draw(st.sampled_from(["last", "next", "next_working"])), "at": draw(CLOCK_TIMES)}


@st.composite
def notices(draw):
    if draw(st.booleans()):
        term = {"count": draw(st.integers(1, 120)), "unit": draw(st.sampled_from(["hours", "working hours"]))}
    else:
        term = {"count": draw(st.integers(1, 10)), "unit": draw(st.sampled_from(DAY_UNITS))}
        term["end"] = draw(ends())
    begins = draw(st.sampled_from(["receipt", "next_day", "next_working_day"]))
    at = {} if begins == "receipt" else {"begins_at": draw(CLOCK_TIMES)}
    return {"term": term, "begins": begins, **at, **SURE}


@st.composite
def clocks(draw):
    """A sure clock with a life and a renewal."""
    receipt = draw(
        st.none()
        | st.fixed_dictionaries(
            {"cut_off": st.sampled_from(["16:30", "17:00"]), "only_working_days": st.booleans()},
            optional={"opens_at": st.just("07:00"), "counts_at": st.just("07:00")},
        ).map(lambda one: one | SURE)
    )
    life = {
        "term": {"count": draw(st.integers(1, 45)), "unit": draw(st.sampled_from(DAY_UNITS))},
        "counted_from": draw(
            st.sampled_from(["call", "receipt", "notice begins", "notice ends", "legal start"])
        ),
        "rolls_on": draw(st.booleans()),
        **SURE,
    }
    lead = draw(
        st.none()
        | st.builds(lambda n, unit: {"count": n, "unit": unit}, st.integers(1, 4), st.sampled_from(DAY_UNITS))
    )
    return clock_json(
        working_days={"opens_at": "07:00", "closes_at": "17:00"},
        receipt=receipt,
        notice=draw(notices()),
        life=life,
        renewal={"lead": lead, **SURE},
        response={"counted_from": "notice ends", **SURE},
    )


def dates(clock, at: datetime, *, start_at: datetime | None = None, kind: str = "routine") -> TicketDates:
    return ticket_dates(
        read_clock(clock), Call(kind=kind, called_at=at, time_zone=EASTERN, start_at=start_at)
    )


@settings(deadline=None)
@given(clock=clocks(), at=CALLS, wait=st.none() | st.integers(0, 60 * 24 * 40))
def test_a_ticket_never_ends_before_its_legal_start(clock, at, wait):
    found = dates(clock, at, start_at=None if wait is None else at + timedelta(minutes=wait))
    assume(found.legal_start_at.at is not None)
    assert found.legal_start_at.at >= at
    assert found.expires_at.at is None or found.expires_at.at > found.legal_start_at.at


@settings(deadline=None)
@given(clock=clocks(), at=CALLS, day=st.integers(-2, 20))
def test_another_holiday_never_makes_a_start_sooner(clock, at, day):
    before = dates(clock, at).legal_start_at.at
    off = {"day": f"{(at + timedelta(days=day)).date()}", "is_working": False, "name": "one more"}
    clock["working_days"]["centre_days"] = [off]
    after = dates(clock, at).legal_start_at.at
    assert before is None or after is None or after >= before


@settings(deadline=None)
@given(clock=clocks(), at=CALLS, later=st.integers(1, 60 * 24 * 10))
def test_a_later_call_never_starts_sooner(clock, at, later):
    first, second = dates(clock, at), dates(clock, at + timedelta(minutes=later))
    assert first.response_due_at.at <= second.response_due_at.at


@pytest.mark.parametrize(
    ("first", "second"),
    [
        # Late on the Sunday before a holiday, and on that holiday: both are Tuesday's.
        (datetime(2024, 1, 1, 3, tzinfo=UTC), datetime(2024, 1, 1, 5, tzinfo=UTC)),
        # Late on a Friday, and before the hour of Monday to which the late call is moved.
        (datetime(2024, 3, 1, 23, tzinfo=UTC), datetime(2024, 3, 4, 11, tzinfo=UTC)),
    ],
)
def test_a_late_call_is_not_overtaken_by_one_on_the_day_off_or_early_on_the_next(first, second):
    receipt = {"cut_off": "16:30", "counts_at": "07:00"} | SURE
    response = {"counted_from": "notice ends", **SURE}
    clock = clock_json(receipt=receipt, notice=hours(48, begins="receipt"), response=response)
    ends = [dates(clock, at).response_due_at.at for at in (first, second)]
    assert ends[0] is not None
    assert ends[0] == ends[1]


@settings(deadline=None, max_examples=200)
@given(clock=clocks(), at=CALLS, share=st.floats(0, 1))
def test_a_renewal_called_by_its_date_or_sooner_leaves_no_gap(clock, at, share):
    found = dates(clock, at)
    assume(found.renew_by.at is not None)
    assert at <= found.renew_by.at < found.expires_at.at
    for called in (found.renew_by.at, at + (found.renew_by.at - at) * share):
        following = dates(clock, called, kind="renewal").response_due_at.at
        assert following is not None
        assert following <= found.expires_at.at


@settings(deadline=None, max_examples=40)  # each tries every thirteenth hour before the last call
@given(at=CALLS)
def test_the_saturday_rule_leaves_no_gap_either(at):
    notice = {"term": {"count": 48, "unit": "hours"}, "called_on": [TEXAN_SATURDAY], **SURE}
    life = {"term": {"count": 14, "unit": "calendar days"}, "counted_from": "call", **SURE}
    clock = clock_json(notice=notice, life=life, renewal=SURE)
    found = dates(clock, at)
    assume(found.renew_by.at is not None)
    for hour in range(0, int((found.renew_by.at - at) / timedelta(hours=1)), 13):
        following = dates(clock, found.renew_by.at - timedelta(hours=hour), kind="renewal").legal_start_at
        assert following.at is None or following.at <= found.expires_at.at


@settings(deadline=None)
@given(clock=clocks(), at=CALLS, part=st.sampled_from(["notice", "life", "renewal", "receipt"]))
def test_what_is_not_sure_never_gives_another_date_than_it_would(clock, at, part):
    sure = dates(clock, at)
    if clock[part] is not None:
        clock[part] |= {"is_sure": False, "doubt": "two readings differ"}
    unsure = dates(clock, at)
    for name in ("legal_start_at", "response_due_at", "renew_by", "expires_at"):
        assert getattr(unsure, name).at in (None, getattr(sure, name).at)
    if part == "notice":
        assert unsure.legal_start_at.at is None
    if part == "life":
        assert unsure.expires_at.at is None
        assert unsure.renew_by.at is None
