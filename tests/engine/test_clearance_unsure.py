"""A bore less sure sideways than the plan allows: a line is looked for by as much farther, and no more."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings

from conflicts.engine.clearance import (
    Allowances,
    clearances,
    past_allowance_by_piece_m,
    past_allowance_m,
)
from conflicts.engine.errors import AllowanceError
from conflicts.engine.path import path_of_profile
from tests.engine.cases import Case, ask, between, cases, line_of

# A bore of three pieces of 10 m, and one line 1 m beside all of it: 0.6 m and both radii, 0.225 m, do not
# reach it.
LEVEL = path_of_profile(
    np.array([(0.0, 0.0), (10.0, 0.0), (20.0, 0.0), (30.0, 0.0)]), np.array([0.0, 30.0]), np.full(2, -3.0)
)
BESIDE = Case(mark_m=((-5.0, 1.0), (35.0, 1.0)))


def allowances_of(case: Case) -> Allowances:
    return Allowances(
        case.tolerance_m, case.reach_m, case.bore_horizontal_m, case.bore_vertical_m, case.slope_ratio
    )


def figures_of(found):
    """Every number of clearances, to the last bit."""
    return [
        [repr(one) for one in (*vars(each).values(),) if not isinstance(one, np.ndarray)]
        + [each.point_m.tobytes()]
        for each in found
    ]


def unsure_in_the_middle(error_m):
    """Errors of a bore that is as sure as the plan allows but in its middle piece."""

    def errors_m(low_m, high_m):
        return (error_m if low_m <= 20.0 and high_m >= 10.0 else 0.3), 0.15

    return errors_m


def beside(error_m):
    allowances = allowances_of(BESIDE)
    errors_m = unsure_in_the_middle(error_m)
    more_m = past_allowance_by_piece_m(LEVEL, allowances, errors_m)
    found = clearances(LEVEL, 0.125, line_of(BESIDE), allowances, None, errors_m, more_m)
    return more_m, found


def test_a_line_is_met_where_the_bore_may_lie_in_its_zone_and_nowhere_else():
    """By hand: 1 m is met once 0.6 + 0.125 + 0.1 and what is past the 0.3 m allowed come to it: 0.475."""
    more_m, found = beside(0.47)
    assert more_m == pytest.approx([0.0, 0.17, 0.0])
    assert found == []
    more_m, [met] = beside(0.48)
    assert more_m == pytest.approx([0.0, 0.18, 0.0])
    assert (met.kind, met.from_m, met.to_m) == ("alongside", pytest.approx(10.0), pytest.approx(20.0))
    assert met.horizontal_m == pytest.approx(1.0 - 0.225)


@settings(max_examples=100, deadline=None)
@given(cases(), between(0, 1), between(0, 0.5))
def test_a_bore_as_sure_as_the_plan_allows_has_the_same_figures_to_the_last_bit(case, share, vertical_m):
    found = ask(case)
    allowances = allowances_of(case)
    errors_m = (share * case.bore_horizontal_m, vertical_m)
    args = (found.path, case.bore_radius_m, found.line)
    more_m = past_allowance_by_piece_m(found.path, allowances, lambda low, high: errors_m)
    with_it = clearances(*args, allowances, case.accuracy_m, lambda low, high: errors_m, more_m)
    as_sure = replace(allowances, bore_horizontal_m=errors_m[0], bore_vertical_m=errors_m[1])
    assert figures_of(with_it) == figures_of(clearances(*args, as_sure, case.accuracy_m))


@settings(max_examples=100, deadline=None)
@given(cases(), between(0, 2))
def test_what_is_past_the_allowance_finds_what_a_zone_so_much_wider_finds(case, past_m):
    """The extents alone: a line's own error stays that of the zone as it is."""
    found = ask(case)
    allowances = allowances_of(case)
    error_m = case.bore_horizontal_m + past_m
    args = (found.path, case.bore_radius_m, found.line)
    more_m = past_allowance_by_piece_m(found.path, allowances, lambda low, high: (error_m, 0.15))
    met = clearances(*args, allowances, 0.0, lambda low, high: (error_m, 0.15), more_m)
    wider = replace(allowances, tolerance_zone_m=case.tolerance_m + past_m)
    wider = replace(wider, bore_horizontal_m=error_m, bore_vertical_m=0.15)
    expected = clearances(*args, wider, 0.0)
    assert [(one.kind, one.from_m, one.to_m) for one in met] == [
        (one.kind, pytest.approx(one.from_m, abs=1e-6), pytest.approx(one.to_m, abs=1e-6)) for one in expected
    ]
    assert [one.worst_case_m for one in met] == [
        None if one.worst_case_m is None else pytest.approx(one.worst_case_m, abs=1e-6) for one in expected
    ]


@pytest.mark.parametrize("error_m", [np.nan, np.inf])
def test_an_error_that_is_no_figure_is_refused_and_never_taken_for_none(error_m):
    assert past_allowance_m(0.3, error_m) != 0.0
    with pytest.raises(AllowanceError):
        beside(error_m)
