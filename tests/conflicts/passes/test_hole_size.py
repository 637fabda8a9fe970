"""How wide a hole is by station, from the passes that went through it."""

from dataclasses import replace
from datetime import timedelta
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.hole_passes import (
    HoleSize,
    PassLog,
    WithdrawnPass,
    hole_as_made,
    hole_as_planned,
    pass_log,
)
from tests.conflicts.passes.written_passes import pulled, reamed
from tests.factories import PLANNED_START_AT as AT

PLANNED, PILOT = 0.2, 0.1


def made(*passes, pilot_m=PILOT):
    return hole_as_made(PLANNED, pilot_m, PassLog(passes))


@pytest.mark.parametrize(
    ("passes", "size"),
    [
        ((), HoleSize((PLANNED,))),
        # While reaming may still come, less than planned never counts.
        ((reamed(0.15),), HoleSize((PLANNED,))),
        ((reamed(0.15), reamed(0.2)), HoleSize((PLANNED,))),
        ((reamed(0.3),), HoleSize((0.3,))),
        # 8 in, of which the plan has whole millimetres.
        ((reamed(PLANNED + 0.0005),), HoleSize((PLANNED,))),
        ((reamed(PLANNED + 0.0006),), HoleSize((PLANNED + 0.0006,))),
        # A smaller reamer after a larger one takes nothing back.
        ((reamed(0.3), reamed(0.25)), HoleSize((0.3,))),
        ((reamed(0.3, 10.0, 40.0),), HoleSize((PLANNED, 0.3, PLANNED), (10.0, 40.0))),
        (
            (reamed(0.25), reamed(0.3, 10.0, 40.0), reamed(0.35, 30.0, 60.0)),
            HoleSize((0.25, 0.3, 0.35, 0.25), (10.0, 30.0, 60.0)),
        ),
        # Stretches that meet with one size are one.
        ((reamed(0.3, 10.0, 40.0), reamed(0.3, 40.0, 60.0)), HoleSize((PLANNED, 0.3, PLANNED), (10.0, 60.0))),
        # Where no reamer is on record one may have gone unlogged: the conduits being in changes nothing.
        ((pulled(0.12),), HoleSize((PLANNED,))),
        ((reamed(0.15, 10.0, 40.0), pulled(0.12)), HoleSize((PLANNED, 0.15, PLANNED), (10.0, 40.0))),
        # Once they are in, what was reamed counts, never less than the pilot or the conduits.
        ((reamed(0.15), pulled(0.12)), HoleSize((0.15,))),
        ((reamed(0.15), reamed(0.18), pulled(0.12)), HoleSize((0.18,))),
        ((reamed(0.05), pulled(0.04)), HoleSize((PILOT,))),
        ((reamed(0.15), pulled(0.18)), HoleSize((0.18,))),
        ((reamed(0.3), pulled(0.12)), HoleSize((0.3,))),
    ],
)
def test_the_hole_is_as_wide_as_what_went_through_it(passes, size):
    assert made(*passes) == size


def test_a_pilot_that_nobody_recorded_makes_no_hole_smaller():
    assert made(reamed(0.15), pulled(0.12), pilot_m=None) == HoleSize((0.15,))
    assert made(pulled(0.12), pilot_m=None) == HoleSize((PLANNED,))


@pytest.mark.parametrize("passes", [(reamed(0.15), pulled(0.12)), (reamed(0.15),), ()])
def test_along_the_plan_no_pass_makes_it_smaller_than_planned(passes):
    assert hole_as_planned(PLANNED, PassLog(passes)) == HoleSize((PLANNED,))


def test_along_the_plan_a_wider_reamer_and_wider_conduits_count():
    assert hole_as_planned(PLANNED, PassLog((reamed(0.3, 10.0, 40.0),))).widest_m == 0.3
    assert hole_as_planned(PLANNED, PassLog((pulled(0.25),))) == HoleSize((0.25,))


def test_a_withdrawn_pass_does_not_count_and_stays_in_the_log():
    wrong, right = reamed(0.3), reamed(0.25)
    log = pass_log([wrong, right], [WithdrawnPass(wrong, "That was 10 in.", AT, "R. Pell")])
    assert hole_as_planned(PLANNED, log) == HoleSize((0.25,))
    assert [one.entry for one in log.withdrawn] == [wrong]


def test_where_two_sizes_meet_the_larger_one_counts():
    size = HoleSize((0.2, 0.3, 0.25), (10.0, 40.0))
    assert [size.widest_between(at, at) for at in (9.999, 10.0, 40.0, 40.001, -5.0, 1e6)] == [
        0.2, 0.3, 0.3, 0.25, 0.2, 0.25,
    ]  # fmt: skip
    assert size.widest_between(0.0, 100.0) == 0.3
    assert size.widest_between(50.0, 60.0) == 0.25


def test_what_the_hole_is_called():
    assert PassLog().state == ""
    assert PassLog((reamed(0.2),)).state == "reamed"
    assert PassLog((reamed(0.2), pulled(0.1))).state == "pulled back"
    assert PassLog((reamed(0.2),)).lacks_pullback
    assert not PassLog((reamed(0.2), pulled(0.1))).lacks_pullback
    assert not PassLog().lacks_pullback


STATIONS = st.integers(0, 20).map(float)
SIZES = st.sampled_from([0.05, 0.1, 0.15, 0.2, 0.25, 0.3])


@st.composite
def any_pass(draw):
    diameter_m, kind = draw(SIZES), draw(st.sampled_from(["reaming", "reaming", "pullback"]))
    if kind == "pullback":
        return pulled(diameter_m)
    if draw(st.booleans()):
        return reamed(diameter_m)
    from_m = draw(STATIONS)
    return reamed(diameter_m, from_m, from_m + draw(st.integers(1, 10)))


@given(st.lists(any_pass(), max_size=6), st.sampled_from([None, 0.1, 0.2]), STATIONS)
def test_at_every_station_it_is_what_the_rule_says_word_by_word(passes, pilot_m, station_m):
    """The rule read station by station, with no stretch and no edge."""
    at_m = station_m + 0.5
    over = [
        one.diameter_m
        for one in passes
        if one.kind == "reaming" and (one.from_m is None or one.from_m <= at_m <= one.to_m)
    ]
    conduits = [one.diameter_m for one in passes if one.kind == "pullback"]
    least = [PLANNED] if not over or not conduits else [pilot_m or 0.0]
    size = hole_as_made(PLANNED, pilot_m, PassLog(tuple(passes)))
    assert size.widest_between(at_m, at_m) == max([*over, *conduits, *least])
    planned = hole_as_planned(PLANNED, PassLog(tuple(passes)))
    assert planned.widest_between(at_m, at_m) == max([*over, *conduits, PLANNED])
    assert planned.widest_between(-inf, inf) >= size.widest_between(-inf, inf)
    assert list(size.edges_m) == sorted(set(size.edges_m))


def test_the_order_of_time_does_not_matter_for_the_size():
    late = replace(reamed(0.3), logged_at=AT + timedelta(days=1))
    assert made(late, pulled(0.12)) == made(pulled(0.12), late)
