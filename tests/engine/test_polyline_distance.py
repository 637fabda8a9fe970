"""The 3-D kernel finds the least distance of any two polylines, and the points where it is met."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy.optimize import lsq_linear

from conflicts.engine.distance import closest_between, polyline_distances_m

# Whole metres meet, touch, run parallel and repeat far more often than any floats would.
WHOLE = st.integers(-4, 4).map(float)
LOOSE = st.floats(-50.0, 50.0)


def polylines(most=7):
    """Polylines of one vertex or more."""
    return st.one_of(
        hnp.arrays(float, st.tuples(st.integers(1, most), st.just(3)), elements=coordinate)
        for coordinate in (WHOLE, LOOSE)
    )


def segments(points):
    """Pairs of vertices; a single vertex is a segment to itself."""
    return list(pairwise(points)) or [(points[0], points[0])]


def solved_distance_m(a, b):
    """Least distance by a bounded least-squares solver on every pair of segments."""
    least = np.inf
    for first, second in segments(a):
        for third, fourth in segments(b):
            sides = np.column_stack([second - first, third - fourth])
            found = lsq_linear(sides, third - first, bounds=(0.0, 1.0), method="bvls", tol=1e-14)
            least = min(least, float(np.linalg.norm(sides @ found.x - (third - first))))
    return least


def point_of(points, segment, fraction):
    after = min(segment + 1, len(points) - 1)
    return points[segment] + fraction * (points[after] - points[segment])


@settings(max_examples=150, deadline=None)
@given(polylines(), polylines())
def test_agrees_with_a_bounded_least_squares_solver(a, b):
    squared, i, s, j, t = closest_between(a, b)
    # The solver stops short of its optimum by up to 1e-7 of the lengths where segments are nearly parallel;
    # it can only be too far, so the kernel's side of the comparison is the tight one.
    assert np.sqrt(squared) <= solved_distance_m(a, b) + 1e-9
    assert np.sqrt(squared) == pytest.approx(solved_distance_m(a, b), abs=1e-6)
    assert np.linalg.norm(point_of(a, i, s) - point_of(b, j, t)) == pytest.approx(np.sqrt(squared), abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(2, 400), st.integers(2, 60))
def test_leaves_out_no_part_of_a_long_polyline(seed, many, few):
    random = np.random.default_rng(seed)
    a = np.cumsum(random.normal(0.0, 1.0, (many, 3)), axis=0)
    b = np.cumsum(random.normal(0.0, 3.0, (few, 3)), axis=0) + random.normal(0.0, 10.0, 3)
    pieces = [a[k : k + 2] for k in range(many - 1)]
    others = [b[k : k + 2] for k in range(few - 1)]
    pairs = np.array([(i, j) for i in range(len(pieces)) for j in range(len(others))])
    every_pair_m = polyline_distances_m(pieces, others, pairs)
    assert np.sqrt(closest_between(a, b)[0]) == pytest.approx(every_pair_m.min(), abs=1e-10)


@settings(max_examples=60, deadline=None)
@given(polylines(), polylines(), st.sampled_from([1e5, 1e6]))
def test_a_huge_offset_costs_only_the_digits_it_takes_from_the_coordinates(a, b, offset):
    # Coordinates of 1e6 m are doubles 1.2e-10 m apart; six of them are rounded.
    near_m, far_m = (np.sqrt(closest_between(a + k, b + k)[0]) for k in (0.0, offset))
    assert far_m == pytest.approx(near_m, abs=6 * np.spacing(offset + 50.0))


@given(polylines(), polylines())
def test_repeated_vertices_change_nothing(a, b):
    once_m = np.sqrt(closest_between(a, b)[0])
    assert np.sqrt(closest_between(np.repeat(a, 3, axis=0), b)[0]) == pytest.approx(once_m, abs=1e-11)
    assert np.sqrt(closest_between(a, np.repeat(b, 2, axis=0))[0]) == pytest.approx(once_m, abs=1e-11)


def test_a_coordinate_that_is_not_finite_has_no_distance():
    good = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    for bad in (np.nan, np.inf):
        broken = np.array([[0.0, 0.0, bad], [1.0, 0.0, 0.0]])
        pairs = np.array([(0, 0), (0, 1), (1, 0)])
        found = polyline_distances_m([good, broken], [good, broken], pairs)
        assert found[0] == 0.0
        assert np.isnan(found[1:]).all()


def test_no_pairs_are_no_distances():
    assert len(polyline_distances_m([], [], np.empty((0, 2), dtype=np.int64))) == 0
