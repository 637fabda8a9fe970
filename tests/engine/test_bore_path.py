"""The path of a bore from its alignment and its profile or rods."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.engine.errors import PathError
from conflicts.engine.path import Ground, Rods, distinct_points, path_of_profile, path_of_rods

BENT = np.array([(0.0, 0.0), (30.0, 0.0), (30.0, 40.0)])
LEVEL = np.pi / 2


def rods_of(lengths, pitches, headings=None, entry_m=0.0):
    nothing = np.full(len(pitches), np.nan)
    return Rods(
        entry_m, np.array(lengths, float), np.array(pitches, float), nothing if headings is None else headings
    )


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=2, max_size=6, unique=True),
    st.lists(st.floats(-6.0, 0.0), min_size=2, max_size=6),
)
def test_every_station_lies_on_the_alignment_at_that_distance(corners, elevations):
    plan = np.array(corners, dtype=float)
    alignment = shapely.LineString(plan)
    stations = np.linspace(0.0, alignment.length, len(elevations))
    path = path_of_profile(plan, stations, elevations)
    assert path.length_m == pytest.approx(alignment.length, abs=1e-9)
    for station in np.linspace(0.0, alignment.length, 37):
        east, north, up = path.at(station)
        point = alignment.interpolate(station)
        assert (east, north) == pytest.approx((point.x, point.y), abs=1e-9)
        assert up == pytest.approx(np.interp(station, stations, elevations), abs=1e-9)


def test_vertices_of_plan_and_profile_are_both_vertices_of_the_path():
    path = path_of_profile(BENT, [0.0, 50.0, 70.0], [0.0, -4.0, -1.0])
    assert path.stations_m == pytest.approx([0.0, 30.0, 50.0, 70.0])
    assert path.points_m[1] == pytest.approx((30.0, 0.0, -2.4))
    assert path.points_m[2] == pytest.approx((30.0, 20.0, -4.0))


def test_ground_is_linear_between_its_points_held_past_them_and_flat_at_zero_without_any():
    ground = Ground(np.array([10.0, 20.0]), np.array([1.0, 2.0]))
    assert ground.at([0.0, 15.0, 99.0]) == pytest.approx([1.0, 1.5, 2.0])
    assert Ground(np.empty(0), np.empty(0)).at([0.0, 5.0]) == pytest.approx([0.0, 0.0])


def test_rods_without_headings_follow_the_alignment_round_its_bend():
    # Level rods of 70 m in all along 30 m east and 40 m north.
    path = path_of_rods(BENT, rods_of([0, 35, 35], [0, 0, 0], entry_m=-2.0))
    assert path.length_m == pytest.approx(70.0)
    assert path.at(50.0) == pytest.approx((30.0, 20.0, -2.0))


def test_rods_past_the_alignment_go_straight_on_and_short_of_it_stop():
    assert path_of_rods(BENT, rods_of([0, 80], [0, 0])).points_m[-1] == pytest.approx((30.0, 50.0, 0.0))
    assert path_of_rods(BENT, rods_of([0, 20], [0, 0])).points_m[-1] == pytest.approx((20.0, 0.0, 0.0))


def test_straight_sloping_rods_are_a_straight_profile():
    pitch = -0.25
    length_m = 40.0 * np.hypot(1.0, pitch)
    path = path_of_rods(BENT, rods_of([0, length_m], [pitch, pitch], entry_m=1.5))
    assert path.length_m == pytest.approx(40.0)
    assert path.points_m[-1] == pytest.approx((30.0, 10.0, 1.5 - 10.0))


def test_rods_with_headings_leave_the_alignment_on_their_own_arcs():
    # From east to north on a quarter turn of radius 20 m, level; stations are the arc's own length.
    path = path_of_rods(BENT, rods_of([0, 10 * np.pi], [0, 0], np.radians([90.0, 0.0])))
    assert path.length_m == pytest.approx(10 * np.pi, abs=1e-4)
    assert path.points_m[-1] == pytest.approx((20.0, 20.0, 0.0), abs=1e-9)
    from_centre = np.hypot(path.points_m[:, 0], path.points_m[:, 1] - 20.0)
    assert from_centre == pytest.approx(np.full(len(from_centre), 20.0), abs=1e-9)


def test_joints_without_a_heading_among_others_take_that_of_the_alignment():
    headings = np.array([np.nan, np.radians(90.0), np.nan])
    path = path_of_rods(BENT, rods_of([0, 10, 10], [0, 0, 0], headings))
    assert path.points_m[-1] == pytest.approx((20.0, 0.0, 0.0), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(2.0, 5.0), st.floats(-0.1, 0.1), st.floats(-0.1, 0.1)), min_size=1, max_size=12
    )
)
def test_chords_of_any_rods_stay_within_a_millimetre_of_their_arcs(rods):
    lengths, turns, bends = np.array([(0.0, 0.0, 0.0), *rods]).T
    pitches = np.clip(np.cumsum(turns), -0.8, 0.8)
    path = path_of_rods(BENT, rods_of(lengths, pitches, LEVEL + np.cumsum(bends)))
    arcs = np.diff(path.points_m, axis=0)
    chords = np.linalg.norm(arcs, axis=1)
    # Neighbouring chords of one arc turn by twice chord over radius: sagitta = chord * turn / 8.
    unit = arcs / chords[:, None]
    turn = np.arccos(np.clip((unit[1:] * unit[:-1]).sum(axis=1), -1.0, 1.0))
    assert (np.minimum(chords[1:], chords[:-1]) * turn / 8.0).max(initial=0.0) <= 1e-3
    # Chords cannot be longer than the rods, nor shorter by more than their own sagittas allow.
    assert lengths.sum() >= chords.sum() - 1e-9
    assert chords.sum() == pytest.approx(lengths.sum(), rel=1e-5)


@pytest.mark.parametrize(
    ("alignment", "stations", "elevations"),
    [
        ([(0, 0), (0, 0)], [0, 10], [0, 0]),
        ([(0, 0)], [0, 10], [0, 0]),
        ([(0, 0), (np.nan, 0)], [0, 10], [0, 0]),
        ([(0, 0), (10, 0)], [0, 10, 5], [0, 0, 0]),
        ([(0, 0), (10, 0)], [0, 0], [0, 0]),
        ([(0, 0), (10, 0)], [0], [0]),
        ([(0, 0), (10, 0)], [0, 10], [0, np.nan]),
        ([(0, 0), (10, 0)], [0, 10], [0, 0, 0]),
    ],
)
def test_what_makes_no_path_is_refused(alignment, stations, elevations):
    with pytest.raises(PathError):
        path_of_profile(alignment, stations, elevations)


@pytest.mark.parametrize(
    "rods",
    [
        rods_of([0, -1], [0, 0]),
        rods_of([0, 10], [0, np.nan]),
        rods_of([0, np.inf], [0, 0]),
        rods_of([0, 10], [0, 0], np.radians([90.0, 270.0])),
        rods_of([0, 10, 10], [0, 0]),
    ],
    ids=["backwards", "no pitch", "endless", "folded back", "uneven"],
)
def test_rods_that_make_no_path_are_refused(rods):
    with pytest.raises(PathError):
        path_of_rods(BENT, rods)


def test_repeated_points_are_taken_once_and_a_return_to_a_point_is_kept():
    points = [(0.0, 0.0), (0.0, 0.0), (1.0, 0.0), (1.0, 1e-12), (0.0, 0.0)]
    assert distinct_points(points).tolist() == [[0.0, 0.0], [1.0, 0.0], [0.0, 0.0]]
