"""Where a mark lies once test holes have found its line, worked out on paper."""

import numpy as np
import pytest

from conflicts.engine.errors import LineError
from conflicts.engine.line import line_size
from tests.engine.cases import Case, Hole, line_of

REACH_M = 1.0
STRAIGHT = Case(mark_m=((0.0, 0.0), (20.0, 0.0)), reach_m=REACH_M, width_m=0.2)


def plan(case):
    return [tuple(point) for point in np.round(line_of(case).points_m[:, :2], 9).tolist()]


def test_without_a_found_hole_the_line_is_the_paint_and_has_no_depth():
    line = line_of(STRAIGHT)
    assert plan(STRAIGHT) == [(0.0, 0.0), (20.0, 0.0)]
    assert np.isnan(line.points_m[:, 2]).all()
    assert not line.depth_is_known


def test_a_hole_moves_the_stretch_of_one_reach_either_way():
    case = STRAIGHT.but(holes=(Hole(8.0, 0.4, -1.0),))
    assert plan(case) == [(0.0, 0.0), (7.0, 0.0), (8.0, 0.4), (9.0, 0.0), (20.0, 0.0)]
    assert line_of(case).points_m[:, 2] == pytest.approx(-1.1)
    assert line_of(case).hole_along_m == pytest.approx([7.0 + np.hypot(1.0, 0.4)])


def test_a_hole_exactly_at_the_end_of_a_mark_adds_nothing_past_it():
    case = STRAIGHT.but(holes=(Hole(20.0, 0.0, -1.0),))
    assert plan(case) == [(0.0, 0.0), (19.0, 0.0), (20.0, 0.0)]
    aside = STRAIGHT.but(holes=(Hole(20.0, 0.3, -1.0),))
    assert plan(aside) == [(0.0, 0.0), (19.0, 0.0), (20.0, 0.3), (20.0, 0.0)]


def test_a_hole_exactly_at_the_start_of_a_mark_is_its_first_point():
    case = STRAIGHT.but(holes=(Hole(0.0, 0.0, -1.0),))
    assert plan(case) == [(0.0, 0.0), (1.0, 0.0), (20.0, 0.0)]


@pytest.mark.parametrize(("second_m", "is_joined"), [(9.9, True), (10.0, False), (10.1, False)])
def test_holes_whose_stretches_overlap_are_joined_hole_to_hole(second_m, is_joined):
    case = STRAIGHT.but(holes=(Hole(second_m, 0.2, -1.0), Hole(8.0, 0.4, -1.0)))
    between = [(x, y) for x, y in plan(case) if 8.0 < x < second_m]
    assert between == ([] if is_joined else sorted({(9.0, 0.0), (round(second_m - 1.0, 9), 0.0)}))
    assert list(line_of(case).hole_order) == [1, 0]


def test_a_bend_of_the_mark_within_reach_of_a_hole_is_cut():
    case = STRAIGHT.but(mark_m=((0.0, 0.0), (8.5, 0.0), (8.5, 20.0)), holes=(Hole(8.0, -0.2, -1.0),))
    assert plan(case) == [(0.0, 0.0), (7.0, 0.0), (8.0, -0.2), (8.5, 0.5), (8.5, 20.0)]


def test_two_holes_at_one_place_each_keep_their_own_top():
    case = STRAIGHT.but(holes=(Hole(8.0, 0.0, -1.0, 0.02), Hole(8.0, 0.0, -1.3, 0.05)))
    line = line_of(case)
    at = np.flatnonzero(line.points_m[:, 0] == 8.0)
    assert line.points_m[at, 2] == pytest.approx([-1.1, -1.4])
    assert line.hole_along_m == pytest.approx([8.0, 8.0])
    assert line.hole_errors_m == pytest.approx([0.02, 0.05])


def test_tops_are_linear_along_the_mark_and_held_past_the_outermost_holes():
    case = STRAIGHT.but(holes=(Hole(5.0, 0.0, -1.0), Hole(15.0, 0.0, -2.0)))
    line = line_of(case)
    tops = np.interp([0.0, 5.0, 7.5, 15.0, 20.0], line.along_m, line.points_m[:, 2] + 0.1)
    assert tops == pytest.approx([-1.0, -1.0, -1.25, -2.0, -2.0])


def test_with_no_reach_the_line_goes_to_its_hole_and_back():
    case = STRAIGHT.but(reach_m=0.0, holes=(Hole(8.0, 0.4, -1.0),))
    assert plan(case) == [(0.0, 0.0), (8.0, 0.0), (8.0, 0.4), (8.0, 0.0), (20.0, 0.0)]


def test_a_single_painted_point_with_holes_goes_from_hole_to_hole():
    case = STRAIGHT.but(mark_m=((5.0, 5.0),), holes=(Hole(5.0, 4.0, -1.0), Hole(5.0, 6.0, -1.5)))
    assert plan(case) == [(5.0, 4.0), (5.0, 6.0)]
    assert line_of(case).points_m[:, 2] == pytest.approx([-1.1, -1.6])


@pytest.mark.parametrize(
    ("measured", "stated", "expected"),
    [
        ([(0.3, None), (0.25, None)], (0.2, None), (0.3, 0.3, False, False)),
        ([], (0.2, None), (0.2, 0.2, False, False)),
        ([], (None, None), (0.15, 0.15, False, True)),
        ([(0.6, 0.4)], (None, None), (0.6, 0.4, True, False)),
        ([(None, None)], (0.6, 0.4), (0.6, 0.4, True, False)),
    ],
    ids=["largest measured", "as stated", "assumed", "duct bank", "not measured in the hole"],
)
def test_the_size_is_the_largest_measured_else_as_stated_else_assumed(measured, stated, expected):
    size = line_size(measured=measured, stated_width_m=stated[0], stated_height_m=stated[1], default_m=0.15)
    assert (size.width_m, size.height_m, size.is_duct_bank, size.is_assumed) == expected


@pytest.mark.parametrize(
    "broken",
    [
        STRAIGHT.but(mark_m=((0.0, float("nan")), (1.0, 0.0))),
        STRAIGHT.but(reach_m=-1.0),
        STRAIGHT.but(reach_m=float("nan")),
        STRAIGHT.but(holes=(Hole(1.0, 0.0, float("nan")),)),
        STRAIGHT.but(holes=(Hole(1.0, float("inf"), -1.0),)),
        STRAIGHT.but(holes=(Hole(1.0, 0.0, -1.0, float("nan")),)),
    ],
    ids=["mark", "negative reach", "no reach", "top", "position", "error"],
)
def test_a_figure_that_is_not_a_number_makes_no_line(broken):
    with pytest.raises(LineError):
        line_of(broken)
