"""Why a signed variance does not excuse what it was signed for: said where it does not, and nowhere else."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.faults import Fault, said
from conflicts.site_records import (
    NOBODY_WALKED,
    CrossingNow,
    SiteRecords,
    VarianceInput,
    variance_for_check,
    variance_for_clearance,
)
from conflicts.variance_reasons import (
    not_excused_check,
    not_excused_crossing,
    why_not_of_check,
    why_not_of_clearance,
)

NOON = datetime(2026, 11, 10, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
OF_CHECK = VarianceInput(
    variance_id="a", subject="check", check_code="watch_holes", mark_id=None, kind="", station_m=None,
    reason="Two people look.", signed_by="M. Ode", signed_at=NOON - HOUR, valid_from=NOON - HOUR,
    valid_until=NOON + HOUR, ended_at=None, faults=("H-1 closed.", "H-2 closed."),
)  # fmt: skip
OF_CROSSING = replace(
    OF_CHECK, subject="crossing", check_code="", mark_id="gas", kind="crossing", station_m=50.0,
    faults=("mark 1", "plan 1"), verdict="short", worst_case_m=0.3, required_m=0.5,
)  # fmt: skip
MARK, PLAN = Fault("mark 1", "The mark W-1."), Fault("plan 1", "The plan of the bore.")
LIES = CrossingNow("gas", "crossing", 49.0, 51.0, "short", 0.3, 0.5, (MARK, PLAN))

GAP = "the gap in the worst case"
TODAY = f"{NOBODY_WALKED}2026-11-10"

keys = st.sampled_from(["H-1 closed.", "H-2 closed.", TODAY, "On the walk a mark was lost."])
metres = st.sampled_from([None, 0.1, 0.2, 0.2000004, 0.3])
verdicts = st.sampled_from(["", "clear", "short", "stale", "unexposed", "overlap"])
times = {
    "valid_from": st.sampled_from([NOON - HOUR, NOON, NOON + HOUR]),
    "valid_until": st.sampled_from([NOON, NOON + 2 * HOUR]),
    "ended_at": st.sampled_from([None, NOON - HOUR, NOON, NOON + HOUR]),
}


@given(
    st.sampled_from(["watch_holes", "day", "tickets"]),
    st.none() | st.lists(keys, max_size=3, unique=True),
    st.lists(keys, min_size=1, max_size=3, unique=True),
    st.fixed_dictionaries(times),
)
def test_of_a_check_there_is_a_reason_exactly_where_it_excuses_nothing(code, then, now, when):
    kept = None if then is None else tuple(then)
    variance = replace(OF_CHECK, check_code=code, faults=kept, **when)
    site = SiteRecords(variances=(variance,), never_waived=("tickets",))
    why = why_not_of_check(variance, site, said(now), NOON, "UTC")
    assert (why == "") == (variance_for_check(site, code, now, NOON) is variance)
    assert (not_excused_check(site, code, said(now), NOON, "UTC") == "") == (why == "")


@given(
    st.tuples(verdicts, metres, metres, st.sampled_from([None, 48.9, 49.0, 51.0])),
    st.tuples(verdicts, metres, metres.filter(lambda one: one is not None)),
    st.fixed_dictionaries(times),
)
def test_of_a_crossing_there_is_a_reason_exactly_where_it_excuses_nothing(then, now, when):
    names = ("verdict", "worst_case_m", "required_m", "station_m")
    variance = replace(OF_CROSSING, **dict(zip(names, then, strict=True)), **when)
    lies = replace(LIES, **dict(zip(names[:3], now, strict=True)))
    why = why_not_of_clearance(variance, lies, NOON, "metric", "UTC")
    excuse = variance_for_clearance(SiteRecords(variances=(variance,)), lies, NOON)
    if lies.verdict != "clear":
        assert (why == "") == (excuse is variance)


def of_crossing(variance=OF_CROSSING, units="metric", **now):
    return why_not_of_clearance(variance, replace(LIES, **now), NOON, units, "UTC")


@pytest.mark.parametrize(
    ("now", "words"),
    [
        ({"worst_case_m": 0.21}, f"{GAP} was 0.300 m when it was signed, now it is 0.210 m"),
        ({"required_m": 0.51}, "0.500 m was required when it was signed, now it is 0.510 m"),
        ({"worst_case_m": None}, f"{GAP} was 0.300 m when it was signed, now it is unknown"),
        ({"worst_case_m": 0.299_999_5, "required_m": 0.500_000_6},
         f"{GAP} was 0.300 m when it was signed, now it is 0.299 m; 0.500 m was required, now it is 0.501 m"),
        ({"verdict": "unexposed"}, "the verdict was short when it was signed, now it is unexposed"),
        ({"worst_case_m": 0.1, "required_m": 0.1},
         f"{GAP} was 0.300 m when it was signed, now it is 0.100 m; 0.500 m was required, now it is 0.100 m"),
        ({"rests_on": (Fault("mark 2", MARK.words), PLAN)}, "it was not signed for this: The mark W-1"),
        ({"verdict": "overlap"}, "the verdict was short when it was signed, now it is overlap"),
    ],
)  # fmt: skip
def test_a_crossing_is_told_of_with_then_and_now(now, words):
    assert of_crossing(**now) == words


def test_figures_that_are_shown_alike_are_not_told_as_a_change():
    signed = replace(OF_CROSSING, worst_case_m=0.3009)
    assert of_crossing(signed, worst_case_m=0.3002) == (
        "the gap is less than when it was signed, by less than is shown"
    )


def test_in_feet_then_and_now_are_in_feet():
    assert "was 1 ft 0 in when" in of_crossing(replace(OF_CROSSING, worst_case_m=0.3048), units="feet")


def test_new_faults_are_named_and_known_ones_are_not():
    site = SiteRecords(variances=(OF_CHECK,))
    now = [Fault("H-1 closed.", "H-1 closed."), *said([f"H-{count} closed." for count in range(3, 8)])]
    assert why_not_of_check(OF_CHECK, site, now, NOON, "UTC") == (
        "it was not signed for this: H-3 closed. H-4 closed. H-5 closed, and 2 more"
    )


def test_of_several_the_one_signed_last_is_told_of_and_one_in_force_before_one_that_is_over():
    over = replace(OF_CHECK, signed_by="A. Ito", signed_at=NOON, valid_until=NOON)
    site = SiteRecords(variances=(OF_CHECK, over))
    words = not_excused_check(site, "watch_holes", said(["H-9 closed."]), NOON, "UTC")
    assert words.startswith("The variance signed by M. Ode does not excuse it: it was not signed for this")
    site = SiteRecords(variances=(over,))
    alone = not_excused_check(site, "watch_holes", said(["H-1 closed."]), NOON, "UTC")
    assert alone.startswith("The variance signed by A. Ito does not excuse it: it ended ")


def test_one_for_a_place_where_no_crossing_lies_any_more_is_told_of_while_it_is_in_force():
    far = replace(OF_CROSSING, station_m=80.0)

    def told(variance, *present):
        return not_excused_crossing(SiteRecords(variances=(variance,)), LIES, present, NOON, "metric", "UTC")

    assert "it was signed for a crossing at" in told(far, LIES)
    assert told(far, LIES, replace(LIES, from_m=79.0, to_m=81.0)) == ""
    assert told(replace(far, ended_at=NOON), LIES) == ""
    assert told(replace(far, mark_id="water"), LIES) == ""
