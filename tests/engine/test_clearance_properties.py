"""What must hold of any job: nothing depends on where it lies; no radius, error or unknown clears a bore."""

import math

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from conflicts.engine.errors import AllowanceError
from conflicts.engine.verdict import Verdict, verdict
from tests.engine.cases import Case, Hole, ask, between, cases
from tests.engine.oracle import Oracle

# Turning a job rounds its coordinates by 1e-14 m; figures follow by the slopes of the pieces, far below this.
SAME_M = 1e-6
FIGURES = ("from_m", "to_m", "horizontal_m", "separation_m", "worst_case_m", "likely_m")
# The search for the least met two samples that rounding told apart, and went on between them.
TWO_SAMPLES_IN_ONE_PLACE = Case(
    bore_plan_m=((0.0, 0.0), (15.394, 4.995), (25.898, 4.995), (45.898, 4.995)),
    profile_m=((0.0, -1.047), (23.344052598, -1.133), (30.347268377, -1.0), (46.688105196, -1.0)),
    bore_radius_m=0.076,
    mark_m=((0.0, -0.501), (15.394, 5.289), (25.898, 4.995), (45.898, 4.995)),
    holes=(
        Hole(15.394, 5.289, -0.72, error_m=0.099),
        Hole(0.0, -0.501, -0.5, error_m=0.0),
        Hole(5.486, 1.957, -3.144, error_m=0.0),
    ),
    width_m=0.253,
    height_m=0.21,
    tolerance_m=0.0,
    reach_m=0.4572,
    spacing_m=2.0,
    accuracy_m=0.006,
    bore_horizontal_m=0.181,
    bore_vertical_m=0.056,
    slope_ratio=0.02,
)
# Both lie in one plumb plane and meet in space, where rounding alone gives their nearest points a direction.
MET_IN_SPACE = Case(
    bore_plan_m=((0.0, 0.0), (30.0, 0.0)),
    profile_m=((0.0, -1.0), (30.0, -1.0)),
    bore_radius_m=0.05,
    mark_m=((0.0, 0.0), (10.0, 0.0), (20.0, 0.0), (30.0, 0.0)),
    holes=(Hole(0.0, 0.0, -0.5, error_m=0.0), Hole(10.0, 0.0, -1.79, error_m=0.0)),
    width_m=0.02,
    tolerance_m=0.0,
    reach_m=0.0,
    spacing_m=2.0,
    bore_horizontal_m=0.0,
    bore_vertical_m=0.0,
    slope_ratio=0.001,
)
UNKNOWN = st.sampled_from([None, math.nan, math.inf, -math.inf])


def moved(case: Case, turn_rad: float, east_m: float, north_m: float, *, mirror: bool) -> Case:
    """The whole job turned, moved and perhaps mirrored."""
    turn = np.array([[np.cos(turn_rad), -np.sin(turn_rad)], [np.sin(turn_rad), np.cos(turn_rad)]])
    turn = turn @ np.diag([1.0, -1.0 if mirror else 1.0])

    def place(points):
        return tuple(map(tuple, (np.array(points).reshape(-1, 2) @ turn.T + [east_m, north_m]).tolist()))

    spots = place([(hole.east_m, hole.north_m) for hole in case.holes])
    holes = [Hole(*spot, hole.top_m, hole.error_m) for spot, hole in zip(spots, case.holes, strict=True)]
    return case.but(bore_plan_m=place(case.bore_plan_m), mark_m=place(case.mark_m), holes=tuple(holes))


def reversed_bore(case: Case) -> Case:
    length_m = case.profile_m[-1][0]
    profile = tuple((length_m - station, elevation) for station, elevation in reversed(case.profile_m))
    return case.but(bore_plan_m=case.bore_plan_m[::-1], profile_m=profile)


def same(one: float | None, other: float | None, within_m: float = SAME_M) -> bool:
    return one is other if one is None or other is None else abs(one - other) <= within_m


@settings(max_examples=80, deadline=None)
@given(cases(), st.floats(0.0, 6.28), between(-2000, 2000), between(-2000, 2000), st.booleans())
@example(case=TWO_SAMPLES_IN_ONE_PLACE, turn_rad=1.5, east_m=0.0, north_m=1009.882, mirror=False)
def test_moving_turning_or_mirroring_a_job_changes_nothing(case, turn_rad, east_m, north_m, mirror):
    assume(not Oracle(case).is_on_an_edge())
    before = ask(case).found
    after = ask(moved(case, turn_rad, east_m, north_m, mirror=mirror)).found
    assert len(after) == len(before)
    for one, other in zip(before, after, strict=True):
        assert one.kind == other.kind
        for name in FIGURES:
            assert same(getattr(one, name), getattr(other, name)), name


@settings(max_examples=80, deadline=None)
@given(cases())
@example(MET_IN_SPACE)
def test_reversing_the_bore_mirrors_its_stations_and_keeps_every_figure(case):
    assume(not Oracle(case).is_on_an_edge())
    answer, back = ask(case), ask(reversed_bore(case))
    length_m = answer.path.length_m
    assert len(back.found) == len(answer.found)
    for one, other in zip(answer.found, reversed(back.found), strict=True):
        assert one.kind == other.kind
        assert same(one.from_m, length_m - other.to_m)
        assert same(one.to_m, length_m - other.from_m)
        for name in ("horizontal_m", "separation_m", "worst_case_m", "likely_m"):
            assert same(getattr(one, name), getattr(other, name)), name


@settings(max_examples=80, deadline=None)
@given(cases(), between(0, 0.5), between(0, 0.5))
def test_a_bigger_bore_or_line_never_has_more_clearance(case, more_bore_m, more_line_m):
    assume(case.holes)
    # The tops are held where they are: a thicker line reaches deeper, and its centre sinks with it.
    bigger = case.but(bore_radius_m=case.bore_radius_m + more_bore_m)
    check_never_more(case, bigger)
    thicker = case.but(width_m=case.width_m + 2.0 * more_line_m, height_m=case.height_m or case.width_m)
    thin = case.but(height_m=case.height_m or case.width_m)
    check_never_more(thin, thicker)


# A steep line that nearly touches the bore, where the worst case has its least within a few millimetres.
NEARLY_TOUCHING = Case(
    bore_plan_m=((0.0, 0.0), (30.0, 0.0)),
    profile_m=((0.0, -1.0), (30.0, -1.0)),
    bore_radius_m=0.05,
    mark_m=((0.0, 0.0), (10.0, 0.001), (20.0, 0.0), (30.0, 0.248)),
    holes=(Hole(0.22, 0.0, -1.612, 0.0), Hole(-0.316, 0.0, -0.517, 0.0), Hole(10.0, 0.001, -0.5, 0.0)),
    width_m=0.221,
    tolerance_m=0.0,
    reach_m=1.5,
    accuracy_m=0.0,
    bore_horizontal_m=0.281,
    bore_vertical_m=0.0,
    slope_ratio=0.038,
)


@settings(max_examples=80, deadline=None)
@given(cases(), between(0, 0.5), between(0, 0.5), between(0, 0.05), between(0, 0.3))
@example(NEARLY_TOUCHING, 0.001, 0.044, 0.0, 0.029)
def test_more_uncertainty_never_makes_the_worst_case_larger(case, level_m, plumb_m, slope, hole_m):
    assume(case.holes)
    holes = tuple(Hole(h.east_m, h.north_m, h.top_m, h.error_m + hole_m) for h in case.holes)
    for doubted in (
        case.but(bore_horizontal_m=case.bore_horizontal_m + level_m),
        case.but(bore_vertical_m=case.bore_vertical_m + plumb_m),
        case.but(slope_ratio=case.slope_ratio + slope),
        case.but(holes=holes),
        case.but(accuracy_m=(case.tolerance_m if case.accuracy_m is None else case.accuracy_m) + level_m),
    ):
        check_never_more(case, doubted)


def check_never_more(sure: Case, doubted: Case) -> None:
    """No figure of the doubted job is above that of the sure one's crossing that it contains."""
    for one in ask(sure).found:
        around = [
            other
            for other in ask(doubted).found
            if other.from_m <= one.from_m + SAME_M and one.to_m <= other.to_m + SAME_M
        ]
        assert len(around) == 1
        for name in ("horizontal_m", "separation_m"):
            assert getattr(around[0], name) <= getattr(one, name) + SAME_M
        # Both sample every centimetre, each from the start of its own extent: within one step the figure
        # rises by at most 1.5 for the distance on the steepest bore here, and the errors' turning.
        assert around[0].worst_case_m <= one.worst_case_m + (
            SAME_M if around[0].from_m == one.from_m else 0.05
        )
        decided = [decision(one, 0.3), decision(around[0], 0.3)]
        assert decided != [Verdict.SHORT, Verdict.CLEAR] or one.worst_case_m > 0.25


def decision(found, required_m):
    return verdict(
        separation_m=found.separation_m,
        worst_case_m=found.worst_case_m,
        required_m=required_m,
        is_exposed=True,
        is_stale=False,
    )


@given(UNKNOWN | between(-1, 5), UNKNOWN | between(-1, 5), st.sampled_from([math.nan, math.inf, 0.3]))
def test_a_figure_that_is_not_known_never_clears(separation_m, worst_case_m, required_m):
    found = verdict(
        separation_m=separation_m,
        worst_case_m=worst_case_m,
        required_m=required_m,
        is_exposed=True,
        is_stale=False,
    )
    known = [
        figure is not None and math.isfinite(figure) for figure in (separation_m, worst_case_m, required_m)
    ]
    assert found != Verdict.CLEAR or (all(known) and worst_case_m >= required_m)


@pytest.mark.parametrize(
    "name",
    [
        "bore_radius_m",
        "width_m",
        "tolerance_m",
        "accuracy_m",
        "bore_horizontal_m",
        "bore_vertical_m",
        "slope_ratio",
    ],
)
@pytest.mark.parametrize("bad", [math.nan, math.inf, -0.1])
def test_a_radius_zone_or_allowance_that_is_no_figure_is_refused(name, bad):
    with pytest.raises(AllowanceError):
        ask(Case(holes=(Hole(20.0, 0.0, -1.0),)).but(**{name: bad}))
