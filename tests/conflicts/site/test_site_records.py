"""What was excused and looked into at a site, for any moment: pure, held to readings of the definitions."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from conflicts.faults import Fault
from conflicts.found_inputs import CameraInput, last_camera
from conflicts.site_records import (
    NO_SITE_RECORDS,
    NOBODY_WALKED,
    CrossingNow,
    SiteRecords,
    VarianceInput,
    variance_for_check,
    variance_for_clearance,
    variance_for_gone,
    variance_for_watch,
)

NOON = datetime(2026, 11, 10, 12, tzinfo=UTC)
HOUR, MICROSECOND = timedelta(hours=1), timedelta(microseconds=1)
TODAY = f"{NOBODY_WALKED}2026-11-10"
hours = st.integers(-4, 4).map(lambda count: NOON + count * HOUR)

VARIANCE = VarianceInput(
    variance_id="a", subject="check", check_code="watch_holes", mark_id=None, kind="", station_m=None,
    reason="Two people look.", signed_by="M. Ode", signed_at=NOON - HOUR, valid_from=NOON - HOUR,
    valid_until=NOON + HOUR, ended_at=None, faults=("H-1 closed", "H-2 closed"),
)  # fmt: skip
OF_CROSSING = replace(
    VARIANCE, subject="crossing", check_code="", mark_id="gas", kind="crossing", station_m=50.0,
    faults=("mark 1", "plan 1"), verdict="short", worst_case_m=0.2, required_m=0.3,
)  # fmt: skip
OF_WATCH = replace(
    OF_CROSSING,
    **{"subject": "watch", "pass_made": "pilot", "faults": ("mark 1", "plan 1", "w-1", "w-2")},
)
MARK, PLAN = Fault("mark 1", "The mark W-1."), Fault("plan 1", "The plan of the bore.")
LIES = CrossingNow("gas", "crossing", 49.0, 51.0, "short", 0.2, 0.3, (MARK, PLAN))


def site(*variances, **values):
    return SiteRecords(variances=variances, **values)


def of_check(found, code="watch_holes", at=NOON, faults=("H-1 closed",)):
    return variance_for_check(found, code, faults, at)


def of_crossing(found, at=NOON, **now):
    return variance_for_clearance(found, replace(LIES, **now), at)


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


@pytest.mark.parametrize("code", ["tickets", "responses", "surface", "profile", "duties"])
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
    [{"mark_id": "water"}, {"kind": "alongside"}, {"from_m": 50.1}, {"to_m": 49.9}],
)
def test_a_crossing_is_excused_by_a_variance_for_itself_alone(other):
    assert of_crossing(site(OF_CROSSING)) is OF_CROSSING
    assert of_crossing(site(OF_CROSSING), **other) is None


def test_its_extent_holds_both_of_its_ends():
    assert of_crossing(site(OF_CROSSING), from_m=50.0, to_m=50.0) is OF_CROSSING


def test_a_check_is_excused_for_the_faults_of_the_signing_and_for_no_other():
    found = site(VARIANCE)
    assert of_check(found, faults=("H-2 closed", "H-1 closed")) is VARIANCE
    assert of_check(found, faults=("H-1 closed", "H-3 closed")) is None
    assert of_check(found, faults=("H-1 unknown",)) is None


@pytest.mark.parametrize("then", [None, ()])
def test_where_no_fault_was_kept_at_the_signing_none_is_excused(then):
    assert of_check(site(replace(VARIANCE, faults=then))) is None


def test_of_the_days_walk_nothing_is_excused_but_that_nobody_made_it():
    lost = "On the walk the marks were not all intact."
    of_day = site(replace(VARIANCE, check_code="day", faults=(TODAY, lost)))
    assert of_check(of_day, "day", faults=(TODAY,)) is not None
    assert of_check(of_day, "day", faults=(lost,)) is None
    assert of_check(of_day, "day", faults=(TODAY, lost)) is None
    assert of_check(of_day, "day", faults=(f"{NOBODY_WALKED}2026-11-11",)) is None


@pytest.mark.parametrize("verdict", ["unexposed", "stale", "overlap", ""])
def test_a_crossing_is_excused_for_the_verdict_of_the_signing_alone(verdict):
    assert of_crossing(site(OF_CROSSING), verdict=verdict) is None
    assert of_crossing(site(replace(OF_CROSSING, verdict=verdict))) is None


@given(st.floats(-5, 5), st.floats(0, 5), st.floats(-3e-6, 3e-6) | st.floats(-5, 5))
def test_a_crossing_is_excused_while_its_margin_is_no_less_to_a_micrometre(worst_m, required_m, more_m):
    now_m = worst_m + more_m
    lesser = (Fraction(worst_m) - Fraction(required_m)) - (Fraction(now_m) - Fraction(required_m))
    assume(abs(lesser - Fraction(1, 10**6)) > Fraction(1, 10**12))
    signed = replace(OF_CROSSING, worst_case_m=worst_m, required_m=required_m)
    excuse = of_crossing(site(signed), worst_case_m=now_m, required_m=required_m)
    assert (excuse is signed) == (lesser <= Fraction(1, 10**6))


def test_a_lesser_worst_case_is_worse_though_less_is_required():
    assert of_crossing(site(OF_CROSSING), worst_case_m=0.1, required_m=0.1) is None


def test_a_crossing_is_excused_while_its_records_are_those_of_the_signing():
    assert of_crossing(site(OF_CROSSING), rests_on=(MARK, PLAN)) is OF_CROSSING
    for changed in ((MARK, Fault("plan 2", PLAN.words)), (Fault("mark 2", MARK.words), PLAN)):
        assert of_crossing(site(OF_CROSSING), rests_on=changed) is None
    assert of_crossing(site(replace(OF_CROSSING, faults=None))) is None


def test_a_greater_required_separation_is_a_lesser_margin():
    assert of_crossing(site(OF_CROSSING), required_m=0.31) is None
    assert of_crossing(site(OF_CROSSING), required_m=0.29) is OF_CROSSING


@pytest.mark.parametrize("unknown", [None, float("nan")])
def test_an_unknown_worst_case_is_excused_only_where_it_was_signed_for(unknown):
    not_known = replace(OF_CROSSING, worst_case_m=None)
    assert of_crossing(site(OF_CROSSING), worst_case_m=unknown) is None
    assert of_crossing(site(not_known), worst_case_m=unknown) is not_known
    assert of_crossing(site(not_known), worst_case_m=unknown, required_m=0.31) is None
    assert of_crossing(site(not_known)) is None


def test_figures_that_were_not_kept_at_the_signing_excuse_nothing():
    assert of_crossing(site(replace(OF_CROSSING, required_m=None))) is None


def test_a_watch_is_excused_for_the_pass_that_is_named_and_for_no_other():
    def of_watch(found, pass_made):
        return variance_for_watch(found, LIES, pass_made, (), NOON)

    assert of_watch(site(OF_WATCH), "pilot") is OF_WATCH
    assert of_watch(site(OF_WATCH), "reaming") is None
    assert of_watch(site(replace(OF_WATCH, **{"pass_made": ""})), "pilot") is None
    assert of_watch(site(replace(OF_CROSSING, **{"pass_made": "pilot"})), "pilot") is None
    assert of_crossing(site(replace(OF_CROSSING, subject="watch"))) is None


def test_a_pass_that_stopped_is_excused_for_the_stops_of_the_signing_and_for_no_other():
    def of_stops(found, *stops):
        return variance_for_watch(found, LIES, "pilot", stops, NOON)

    assert of_stops(site(OF_WATCH), "w-2", "w-1") is OF_WATCH
    assert of_stops(site(OF_WATCH), "w-1", "w-3") is None
    assert of_stops(site(replace(OF_WATCH, faults=None))) is None
    no_stop = replace(OF_WATCH, faults=("mark 1", "plan 1"))
    assert of_stops(site(no_stop)) is no_stop
    assert of_stops(site(no_stop), "w-1") is None


@pytest.mark.parametrize(
    ("then", "now", "is_excused"),
    [
        ("clear", "clear", True), ("clear", "short", False), ("short", "clear", True),
        ("short", "stale", False), ("", "clear", False),
    ],
)  # fmt: skip
def test_a_watch_is_excused_while_its_crossing_is_no_worse_than_at_the_signing(then, now, is_excused):
    def of_pass(**values):
        signed = replace(OF_WATCH, verdict=then)
        lies = replace(LIES, **{"verdict": now, **values})
        return variance_for_watch(site(signed), lies, "pilot", (), NOON) is signed

    assert of_pass() is is_excused
    assert not of_pass(worst_case_m=LIES.worst_case_m - 0.01)
    assert not of_pass(required_m=LIES.required_m + 0.01)
    assert not of_pass(rests_on=(Fault("mark 2", MARK.words), PLAN))


def test_a_crossing_that_is_gone_is_excused_as_it_was_released_and_with_the_stops_of_the_signing():
    told = Fault("gone 1", "The crossing as it was released.")
    gone = replace(LIES, verdict="clear", rests_on=(told,))
    signed = replace(OF_CROSSING, subject="gone", verdict="clear", faults=("gone 1", "w-1"))
    assert variance_for_gone(site(signed), gone, ("w-1",), NOON) is signed
    assert variance_for_gone(site(signed), gone, ("w-2",), NOON) is None
    assert variance_for_gone(site(signed), replace(gone, rests_on=(MARK, PLAN)), (), NOON) is None
    assert variance_for_gone(site(replace(signed, subject="crossing")), gone, (), NOON) is None
    assert of_crossing(site(signed), verdict="clear", rests_on=(told,)) is None


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
    found = last_camera(inputs, "g", "before", at)
    like = [one for one in inputs if (one.mark_id, one.stage) == ("g", "before") and one.inspected_at <= at]
    assert found == (like[-1] if like else None)


def test_where_nothing_was_recorded_nothing_is_excused():
    assert of_check(NO_SITE_RECORDS) is None
    assert of_crossing(NO_SITE_RECORDS) is None
    assert last_camera((), "gas", "before", NOON) is None
