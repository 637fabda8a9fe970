"""Extents of crossings and coverage by tickets against shapely's overlays, on random plans."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from conflicts.engine.coverage import LEAST_GAP_M, is_covered, uncovered_stations, united_area
from conflicts.engine.extent import extents
from conflicts.engine.frame import chainages_m
from conflicts.engine.path import distinct_points

WHOLE = st.integers(0, 40).map(float)
LOOSE = st.floats(0.0, 40.0).map(lambda value: round(value, 3))


def plans(most=5, element=LOOSE):
    points = hnp.arrays(float, st.tuples(st.integers(2, most), st.just(2)), elements=element)
    return points.map(distinct_points).filter(lambda plan: len(plan) > 1)


def boxes():
    """Work areas: boxes, which share edges, overlap and lie apart."""
    corners = st.tuples(WHOLE, WHOLE, st.integers(1, 20), st.integers(1, 20))
    return st.lists(corners.map(lambda c: shapely.box(c[0], c[1], c[0] + c[2], c[1] + c[3])), max_size=4)


def in_space(plan):
    return np.column_stack([plan, np.zeros(len(plan))])


@settings(max_examples=100, deadline=None)
@given(plans(), st.one_of(plans(), plans(element=WHOLE)), st.floats(0.05, 3.0))
def test_extents_cover_what_lies_in_a_buffer_of_the_line(bore, line, reach_m):
    stations = chainages_m(bore)
    found = extents(stations, in_space(bore), in_space(line), np.full(len(bore) - 1, reach_m))
    # The buffer's arcs are polygons of 256 sides a quarter turn: they fall short by 5e-6 of the reach, which
    # a bore that grazes an arc stretches to sqrt(2 * 3 m * 1.5e-5 m), a centimetre, at each of the ends.
    inner = shapely.buffer(shapely.LineString(line), reach_m, quad_segs=256)
    inside_m = sum(
        shapely.intersection(shapely.LineString(bore[k : k + 2]), inner).length for k in range(len(bore) - 1)
    )
    assert float(np.diff(found, axis=1).sum()) == pytest.approx(inside_m, abs=0.02 * (1 + 2 * len(found)))
    for edge in found.ravel():
        at = [np.interp(edge, stations, bore[:, axis]) for axis in range(2)]
        apart_m = shapely.distance(shapely.Point(at), shapely.LineString(line))
        is_end = edge in (0.0, stations[-1])
        assert apart_m <= reach_m + 1e-9
        assert is_end or apart_m == pytest.approx(reach_m, abs=1e-9)
    assert (found[1:, 0] > found[:-1, 1]).all()


@settings(max_examples=100, deadline=None)
@given(plans(), st.one_of(plans(), plans(element=WHOLE)), st.data())
def test_where_pieces_reach_differently_each_covers_its_own_buffer(bore, line, data):
    reaches_m = data.draw(hnp.arrays(float, len(bore) - 1, elements=st.floats(0.05, 3.0)))
    stations = chainages_m(bore)
    found = extents(stations, in_space(bore), in_space(line), reaches_m)
    for k, reach_m in enumerate(reaches_m):
        along = np.linspace(stations[k], stations[k + 1], 101)[1:-1]
        piece = shapely.LineString(bore[k : k + 2])
        apart_m = shapely.distance(
            shapely.line_interpolate_point(piece, along - stations[k]), shapely.LineString(line)
        )
        inside = ((along[:, None] >= found[:, 0]) & (along[:, None] <= found[:, 1])).any(axis=1)
        # Within a rounding of the very edge either answer is right.
        sure = np.abs(apart_m - reach_m) > 1e-9
        assert (inside == (apart_m <= reach_m))[sure].all()


@settings(max_examples=100, deadline=None)
@given(plans(), boxes())
def test_a_station_is_uncovered_where_shapely_finds_its_point_outside(bore, areas):
    gaps = uncovered_stations(bore, united_area(areas))
    union = united_area(areas)
    stations = chainages_m(bore)
    for station in np.linspace(0.0, stations[-1], 101):
        point = shapely.Point([np.interp(station, stations, bore[:, axis]) for axis in range(2)])
        # Within the tolerated gap of an edge either answer is right.
        if shapely.is_empty(union) or shapely.distance(point, union.boundary) > LEAST_GAP_M:
            assert any(low <= station <= high for low, high in gaps) == (not shapely.contains(union, point))


def test_two_areas_that_share_an_edge_leave_no_gap_and_a_centimetre_between_them_does():
    bore = np.array([(0.0, 5.0), (20.0, 5.0)])
    first, near, far = shapely.box(-1, 0, 10, 10), shapely.box(10, 0, 21, 10), shapely.box(10.01, 0, 21, 10)
    assert uncovered_stations(bore, united_area([first, near])) == []
    ((low, high),) = uncovered_stations(bore, united_area([first, far]))
    assert (low, high) == pytest.approx((10.0, 10.01), abs=LEAST_GAP_M)


def test_no_ticket_covers_nothing():
    bore = np.array([(0.0, 0.0), (0.0, 30.0), (40.0, 30.0)])
    assert uncovered_stations(bore, united_area([])) == [(0.0, 70.0)]
    assert not is_covered(shapely.box(0, 0, 1, 1), united_area([]))


def test_a_pit_that_sticks_out_of_the_area_is_not_covered():
    area = united_area([shapely.box(0, 0, 10, 10)])
    assert is_covered(shapely.box(0, 0, 3, 2), area)
    assert not is_covered(shapely.box(-0.01, 0, 3, 2), area)
