"""Random bores and lines: every figure of a crossing against the brute-force reading of DESIGN.md.

Tolerances, unless said: 1e-6 m, the project's own; the oracle's minimiser stops at 1e-12 of station, and a
distance changes by at most its station's error times the slope of the bore (below 2 here).
"""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.engine.cases import Answer, Case, ask, cases, line_of
from tests.engine.oracle import COARSE_M, Oracle, underground

SAME_M = 1e-6
# The design asks for a sample at every 5 cm of station or closer.
DESIGN_STEP_M = 0.05


def compared(case: Case, *, needs_depth: bool = False) -> tuple[Oracle, Answer]:
    oracle = Oracle(case)
    assume(not needs_depth or case.holes)
    assume(not oracle.is_on_an_edge())
    answer = ask(case)
    assume(answer.found)
    return oracle, answer


def plan_of(points_m: np.ndarray) -> shapely.LineString:
    return shapely.LineString(points_m[:, :2] if len(points_m) > 1 else np.repeat(points_m[:, :2], 2, axis=0))


@settings(max_examples=60, deadline=None)
@given(cases())
def test_the_line_goes_where_its_holes_move_it(case):
    assume(not Oracle(case).is_on_an_edge())
    line, expected = line_of(case), underground(case)
    ours, theirs = plan_of(line.points_m), plan_of(expected.points_m)
    assert shapely.hausdorff_distance(ours, theirs, densify=0.05) <= SAME_M
    assert line.along_m[-1] == pytest.approx(expected.along_m[-1], abs=SAME_M)
    assert line.hole_along_m == pytest.approx(expected.hole_along_m, abs=SAME_M)
    assert line.hole_errors_m == pytest.approx(expected.hole_errors_m)
    assert line.depth_is_known == bool(case.holes)
    # Two holes at one place make a step, where an elevation has two values: compared beside the vertices.
    if len(line.points_m) > 1 and case.holes:
        at = (np.arange(500) + 0.5) / 500 * line.along_m[-1]
        at = at[np.abs(at[:, None] - expected.along_m).min(axis=1) > 1e-3]
        ours_m = np.interp(at, line.along_m, line.points_m[:, 2])
        # Half a millimetre of chainage from a vertex is 1e-6 / 1e-3 of a step: none here reaches 4 m.
        assert ours_m == pytest.approx(np.interp(at, expected.along_m, expected.points_m[:, 2]), abs=4e-3)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_extents_are_the_maximal_intervals_within_the_zone(case):
    oracle = Oracle(case)
    assume(not oracle.is_on_an_edge())
    expected = oracle.extents_m()
    found = [(one.from_m, one.to_m) for one in ask(case).found]
    assert np.array(found).reshape(-1, 2) == pytest.approx(np.array(expected).reshape(-1, 2), abs=SAME_M)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_horizontal_is_the_least_plan_distance_less_the_radii(case):
    oracle, answer = compared(case)
    for one in answer.found:
        least_m = oracle.least_m(oracle.plan_m, one.from_m, one.to_m)
        expected = max(0.0, least_m - case.bore_radius_m - case.width_m / 2)
        assert one.horizontal_m == pytest.approx(expected, abs=SAME_M)
        # The least is flat where bore and line run side by side: the station is judged by its distance.
        assert oracle.plan_m(np.array([one.station_m]))[0] == pytest.approx(least_m, abs=2 * SAME_M)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_kind_vertical_and_passes_are_taken_where_the_lines_cross_or_are_nearest(case):
    oracle, answer = compared(case)
    half_height_m = (case.width_m if case.height_m is None else case.height_m) / 2
    for one in answer.found:
        meetings = oracle.meetings(one.from_m, one.to_m)
        assert one.kind == ("crossing" if meetings else "alongside")
        if not case.holes:
            unknown = (one.vertical_m, one.separation_m, one.worst_case_m, one.likely_m, one.passes)
            assert unknown == (None,) * 5
            continue
        if meetings:
            rise_m, slack_m = min((rise for _, rise in meetings), key=abs), SAME_M
        else:
            bore_m = oracle.bore.at(np.array([one.station_m]))[0, 2]
            rise_m = bore_m - np.interp(one.along_m, oracle.line.along_m, oracle.line.points_m[:, 2])
            # The height of a line at a distance along it moves by its slope times the rounding of that.
            slack_m = 20 * SAME_M
        expected = abs(rise_m) - case.bore_radius_m - half_height_m
        assert one.vertical_m == pytest.approx(expected, abs=slack_m) or is_at_a_step(oracle, one.along_m)
        if abs(rise_m) > 1e-4 and not is_at_a_step(oracle, one.along_m):
            assert one.passes == ("over" if rise_m > 0 else "under")


def is_at_a_step(oracle: Oracle, along_m: float) -> bool:
    """Whether the line steps in height at a distance along it, so that it has two heights there."""
    line = oracle.line
    steep = np.abs(np.diff(line.points_m[:, 2])) > 10.0 * np.diff(line.along_m)
    near = np.abs(line.along_m - along_m) < 0.3
    return bool((steep & (near[1:] | near[:-1])).any())


@settings(max_examples=60, deadline=None)
@given(cases())
def test_separation_is_the_least_distance_in_space_less_the_radii(case):
    oracle, answer = compared(case, needs_depth=True)
    for one in answer.found:
        expected = oracle.least_m(oracle.space_m, one.from_m, one.to_m) - oracle.radii_m
        assert one.separation_m == pytest.approx(expected, abs=SAME_M)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_worst_case_is_the_least_over_samples_as_close_as_the_design_asks(case):
    oracle, answer = compared(case, needs_depth=True)
    for one in answer.found:
        stations = oracle.samples(one.from_m, one.to_m, 0.001)
        worst_m, likely_m = oracle.losses(stations)
        # Between two of the oracle's samples the figure falls by at most its rate times half a millimetre:
        # 1 for the distance, and twice the errors over the distance for the turning of v.
        errors_m = case.bore_horizontal_m + case.bore_vertical_m + 1.5
        rate = 1.5 * (1.0 + 2.0 * errors_m / max(0.05, float(worst_m.min() + oracle.radii_m)))
        assert one.worst_case_m >= worst_m.min() - rate * 0.0005
        # Whatever samples no farther apart than the design's step are taken, one lies in every such window.
        width = max(1, min(len(stations), int(DESIGN_STEP_M / 0.001)))
        windows = np.lib.stride_tricks.sliding_window_view(worst_m, width)
        vertices = np.isin(stations, oracle.bore.stations_m) | np.isin(stations, [one.from_m, one.to_m])
        most_m = min(windows.max(axis=1).min(), worst_m[vertices].min())
        assert one.worst_case_m <= most_m + SAME_M
        # `likely_m` belongs to the same point: some sample has both figures.
        apart = np.maximum(np.abs(worst_m - one.worst_case_m), np.abs(likely_m - one.likely_m))
        assert apart.min() <= rate * 0.001
        assert one.worst_case_m <= one.likely_m <= one.separation_m + 1.0
        assert one.worst_case_m <= one.separation_m + SAME_M


@settings(max_examples=60, deadline=None)
@given(cases(), st.sampled_from([2.0, 6.0, 30.48]))
def test_exposed_by_a_hole_in_reach_and_holes_as_close_as_the_spacing_rule(case, spacing_m):
    answer = compared(case.but(spacing_m=spacing_m), needs_depth=True)[1]
    for one, exposed in zip(answer.found, answer.exposures, strict=True):
        # Just more and just less spacing must agree, else the case lies on a limit.
        nudged = [
            Oracle(case.but(spacing_m=spacing_m + nudge)) for nudge in (-2 * COARSE_M, 0.0, 2 * COARSE_M)
        ]
        near = [oracle.is_exposed(one.point_m, one.from_m, one.to_m, one.kind) for oracle in nudged]
        assume(len(set(near)) == 1)
        assert exposed.is_exposed == near[0]
        assert (exposed.dig_along_m is None) == exposed.is_exposed
