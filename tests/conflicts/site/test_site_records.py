"""What was excused and looked into at a site, for any moment: pure, held to readings of the definitions."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.site_records import (
    NO_SITE_RECORDS,
    CameraInput,
    SiteRecords,
    VarianceInput,
    last_camera,
    variance_for_check,
    variance_for_crossing,
)

NOON = datetime(2026, 11, 10, 12, tzinfo=UTC)
HOUR, MICROSECOND = timedelta(hours=1), timedelta(microseconds=1)
hours = st.integers(-4, 4).map(lambda count: NOON + count * HOUR)

VARIANCE = VarianceInput(
    variance_id="a", subject="check", check_code="watch_holes", mark_id=None, kind="", station_m=None,
    reason="Two people look.", signed_by="M. Ode", signed_at=NOON - HOUR, valid_from=NOON - HOUR,
    valid_until=NOON + HOUR, ended_at=None,
)  # fmt: skip
OF_CROSSING = replace(
    VARIANCE, subject="crossing", check_code="", mark_id="gas", kind="crossing", station_m=50.0
)


def site(*variances, **values):
    return SiteRecords(variances=variances, **values)


def of_check(found, code="watch_holes", at=NOON):
    return variance_for_check(found, code, at)


def of_crossing(found, subject="crossing", mark_id="gas", kind="crossing", low=49.0, high=51.0, at=NOON):
    return variance_for_crossing(found, subject, mark_id, kind, low, high, at)


def test_it_is_in_force_from_its_beginning_to_its_end_and_not_at_it():
    assert VARIANCE.is_in_force(NOON - HOUR)
    assert not VARIANCE.is_in_force(NOON - HOUR - MICROSECOND)
    assert VARIANCE.is_in_force(NOON + HOUR - MICROSECOND)
    assert not VARIANCE.is_in_force(NOON + HOUR)


def test_ended_before_its_day_it_ends_then_and_ended_after_it_no_later():
    early, late = (replace(VARIANCE, ended_at=NOON + count * HOUR) for count in (0, 2))
    assert (early.until, late.until, VARIANCE.until) == (NOON, NOON + HOUR, NOON + HOUR)
    assert early.is_in_force(NOON - MICROSECOND)
    assert not early.is_in_force(NOON)


def test_ended_before_it_began_it_excuses_at_no_moment():
    never = replace(VARIANCE, ended_at=NOON - 2 * HOUR)
    assert not any(never.is_in_force(NOON + count * HOUR) for count in range(-4, 5))


@pytest.mark.parametrize("code", ["tickets", "responses", "surface", "profile", "day", "duties"])
def test_a_check_is_excused_by_a_variance_for_that_check_alone(code):
    assert of_check(site(VARIANCE)) is VARIANCE
    assert of_check(site(VARIANCE), code) is None
    assert of_check(site(replace(VARIANCE, check_code=code)), code) is not None


def test_what_nobody_may_waive_is_excused_by_nothing_though_it_was_signed():
    assert of_check(site(VARIANCE, never_waived=("tickets", "watch_holes"))) is None
    assert of_check(site(VARIANCE, never_waived=("tickets",))) is VARIANCE


def test_the_check_of_the_crossings_is_never_excused_as_a_whole():
    assert of_check(site(replace(VARIANCE, check_code="crossings")), "crossings") is None


def test_a_variance_for_a_crossing_excuses_no_check_and_the_other_way_round():
    assert of_check(site(replace(OF_CROSSING, check_code="watch_holes"))) is None
    assert of_crossing(site(replace(OF_CROSSING, subject="check"))) is None


@pytest.mark.parametrize(
    "other",
    [{"subject": "watch"}, {"mark_id": "water"}, {"kind": "alongside"}, {"low": 50.1}, {"high": 49.9}],
)
def test_a_crossing_is_excused_by_a_variance_for_itself_alone(other):
    assert of_crossing(site(OF_CROSSING)) is OF_CROSSING
    assert of_crossing(site(OF_CROSSING), **other) is None


def test_its_extent_holds_both_of_its_ends():
    assert of_crossing(site(OF_CROSSING), low=50.0, high=50.0) is OF_CROSSING


def test_a_variance_that_says_no_place_excuses_no_crossing():
    assert of_crossing(site(replace(OF_CROSSING, station_m=None))) is None


@given(st.lists(st.tuples(hours, hours, st.none() | hours), max_size=6), hours)
def test_of_several_in_force_the_one_that_lasts_longest_counts(spans, at):
    variances = [
        replace(VARIANCE, variance_id=str(number), valid_from=low, valid_until=high, ended_at=ended)
        for number, (low, high, ended) in enumerate(spans)
    ]
    ends = [
        min(high, ended or high)
        for low, high, ended in spans
        if low <= at < high and not (ended and ended <= at)
    ]
    found = of_check(site(*variances), at=at)
    crossings = [replace(OF_CROSSING, valid_from=low, valid_until=high, ended_at=e) for low, high, e in spans]
    assert (found and found.until) == (max(ends) if ends else None)
    excuse = of_crossing(site(*crossings), at=at)
    assert (excuse and excuse.until) == (max(ends) if ends else None)


@given(
    st.lists(st.tuples(st.sampled_from("gw"), st.sampled_from(["before", "after"]), hours), max_size=8), hours
)
def test_the_last_look_into_a_line_at_a_stage_is_the_last_that_has_come(looks, at):
    inputs = [CameraInput(mark, stage, when, str(n)) for n, (mark, stage, when) in enumerate(looks)]
    inputs.sort(key=lambda one: one.inspected_at)
    found = last_camera(SiteRecords(cameras=tuple(inputs)), "g", "before", at)
    like = [one for one in inputs if (one.mark_id, one.stage) == ("g", "before") and one.inspected_at <= at]
    assert found == (like[-1] if like else None)


def test_where_nothing_was_recorded_nothing_is_excused():
    assert of_check(NO_SITE_RECORDS) is None
    assert of_crossing(NO_SITE_RECORDS) is None
    assert last_camera(NO_SITE_RECORDS, "gas", "before", NOON) is None
