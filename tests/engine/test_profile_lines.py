"""Lines as the search keeps away from them, against the engine's own worst case."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.engine.clearance import Allowances
from conflicts.engine.path import Ground
from conflicts.engine.profile_lines import BLOCKED_M, KeptAway, UnknownDepth, error_terms, without_gaps
from tests.engine.cases import Case, Hole, ask, cases, line_of

REQUIRED_M = 0.305


def kept_away(case, low_m, high_m):
    allowances = Allowances(
        tolerance_zone_m=case.tolerance_m,
        reach_m=case.reach_m,
        bore_horizontal_m=case.bore_horizontal_m,
        bore_vertical_m=case.bore_vertical_m,
        slope_ratio=case.slope_ratio,
    )
    line = line_of(case)
    terms = error_terms(case.bore_radius_m, line, allowances, case.accuracy_m)
    return KeptAway("line", low_m, high_m, REQUIRED_M, np.array(case.bore_plan_m), 0.0, line, terms)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_the_least_margin_along_a_bore_is_that_of_its_assessment(case):
    if not case.holes:
        return
    stations, elevations = np.array(case.profile_m).T
    for found in ask(case).found:
        obstacle = kept_away(case, found.from_m, found.to_m)
        along = np.unique(np.append(np.linspace(found.from_m, found.to_m, 400), found.worst.station_m))
        margins = obstacle.margins_m(along, np.interp(along, stations, elevations))
        # The engine looks between samples, so no sample of ours is below it, and one lies at its point.
        assert margins.min() == pytest.approx(found.worst_case_m - REQUIRED_M, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(cases(), st.sampled_from([0.0, 0.25, 0.8]))
def test_outside_the_edges_every_height_has_the_margin(case, margin_m):
    if not case.holes:
        return
    for found in ask(case).found:
        obstacle = kept_away(case, found.from_m, found.to_m)
        stations = np.linspace(found.from_m, found.to_m, 4)
        lower, upper = obstacle.edges_m(stations, margin_m)
        for station, low, high in zip(stations, lower, upper, strict=True):
            heights = np.linspace(-12.0, 8.0, 1500)
            margins = obstacle.margins_m(np.full(len(heights), station), heights)
            outside = np.ones(len(heights), bool) if np.isnan(low) else (heights <= low) | (heights >= high)
            # The edge is looked for in steps of a decimetre: a dip between two steps is shallow.
            assert margins[outside].min() >= margin_m - 0.02
            if not np.isnan(low):
                ends = obstacle.margins_m(np.full(2, station), np.array([low, high]))
                assert (ends >= margin_m - 1e-9).all()
                inside = obstacle.margins_m(np.full(2, station), np.array([low + 1e-4, high - 1e-4]))
                assert inside.min() < margin_m + 1e-4


@settings(max_examples=60, deadline=None)
@given(cases(), st.sampled_from([-0.2, 0.0, 0.25, 0.8]), st.booleans())
def test_a_tangent_meets_the_edge_at_its_margin(case, margin_m, is_under):
    if not case.holes:
        return
    for found in ask(case).found:
        obstacle = kept_away(case, found.from_m, found.to_m)
        stations = np.linspace(found.from_m, found.to_m, 4)
        edge = obstacle.edges_m(stations, margin_m)[0 if is_under else 1]
        at_none, rate = obstacle.tangent_m(stations, margin_m, is_under=is_under)
        met = at_none - rate * margin_m if is_under else at_none + rate * margin_m
        is_there = ~np.isnan(edge)
        # Both are met to a tenth of a micrometre.
        assert met[is_there] == pytest.approx(edge[is_there], abs=1e-6)
        assert (rate[is_there] > 0.0).all()
        # What is there only a little farther out stays where it is.
        assert (rate[~is_there & ~np.isnan(at_none)] == 0.0).all()


@pytest.mark.parametrize("is_under", [True, False])
@pytest.mark.parametrize("margin_m", [0.0, 0.5])
def test_a_tangent_goes_as_far_as_the_edge_where_more_is_asked(is_under, margin_m):
    case = Case(holes=(Hole(20.0, 0.0, -2.0),))
    [found] = ask(case).found
    # Near the ends of the extent the edge bends much with the margin.
    stations = np.linspace(found.from_m, found.to_m, 9)[2:-2]
    obstacle = kept_away(case, found.from_m, found.to_m)
    at_none, rate = obstacle.tangent_m(stations, margin_m, is_under=is_under)
    for more_m in (0.005, 0.02):
        edge = obstacle.edges_m(stations, margin_m + more_m)[0 if is_under else 1]
        moved = rate * (margin_m + more_m)
        assert (at_none - moved if is_under else at_none + moved) == pytest.approx(edge, abs=5e-4)


def test_a_line_that_bends_away_leaves_a_gap_in_which_a_bore_may_change_its_side():
    # Beside the bore, away from it, and beside it again, all within the tolerance zone.
    case = Case(
        mark_m=((5.0, 0.3), (15.0, 0.3), (16.0, 1.35), (24.0, 1.35), (25.0, 0.3), (35.0, 0.3)),
        holes=(Hole(10.0, 0.3, -2.9), Hole(20.0, 1.35, -2.9), Hole(30.0, 0.3, -2.9)),
        tolerance_m=1.5,
        reach_m=12.0,
        bore_horizontal_m=0.1,
    )
    stretches = without_gaps(replace(kept_away(case, 5.0, 35.0), required_m=0.3))
    assert len(stretches) == 2
    assert (stretches[0][0], stretches[-1][1]) == (5.0, 35.0)
    assert stretches[0][1] == stretches[1][0] == pytest.approx(20.0, abs=1.0)


def test_a_straight_line_across_leaves_none():
    case = Case(holes=(Hole(20.0, 0.0, -2.0),))
    found = ask(case).found[0]
    obstacle = kept_away(case, found.from_m, found.to_m)
    assert without_gaps(obstacle) == [(found.from_m, found.to_m)]


@pytest.mark.parametrize(("down_to_m", "margin_m"), [(1.5, 0.5), (BLOCKED_M, 2.0 - BLOCKED_M)])
def test_an_unknown_depth_blocks_down_from_sloping_ground(down_to_m, margin_m):
    ground = Ground(np.array([0.0, 10.0]), np.array([5.0, 6.0]))
    unknown = UnknownDepth("line", 2.0, 8.0, ground, down_to_m)
    stations = np.array([2.0, 8.0])
    elevations = ground.at(stations) - 2.0
    assert unknown.margins_m(stations, elevations) == pytest.approx(np.full(2, margin_m))
    lower, upper = unknown.edges_m(stations, 0.1)
    assert lower == pytest.approx(ground.at(stations) - down_to_m - 0.1)
    assert (upper > ground.at(stations) + 50.0).all()
    under, by_under = unknown.tangent_m(stations, 0.1, is_under=True)
    assert under - 0.1 * by_under == pytest.approx(lower)
    over, by_over = unknown.tangent_m(stations, 0.1, is_under=False)
    assert over + 0.1 * by_over == pytest.approx(upper)
