"""The search's own arcs against closed forms, published figures, wellpathpy and the engine's path of rods."""

import numpy as np
import pytest
import wellpathpy
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.engine.path import Rods, path_of_rods
from conflicts.engine.profile_arcs import RodProfile, place_slopes, rod_slopes

ALONG_NORTH = np.array([(0.0, 0.0), (0.0, 1.0)])

pitches = st.lists(st.floats(-0.4, 0.4), min_size=3, max_size=12)


def profile(lengths, angles_deg, station=0.0, elevation=0.0):
    return RodProfile(station, elevation, np.array(lengths, dtype=float), np.radians(angles_deg))


def rods_of(pitches_ratio, rod_m=3.0):
    return RodProfile(
        0.0, -1.0, np.full(len(pitches_ratio) - 1, rod_m), np.arctan(np.array(pitches_ratio, dtype=float))
    )


@pytest.mark.parametrize(
    ("angle_deg", "depth_in", "setback_ft"),
    [(15.0, 71.95, 35.541), (10.0, 39.07, 27.2129), (20.0, 113.41, 43.5989)],
)
def test_depth_and_setback_at_the_end_of_the_first_bend(angle_deg, depth_in, setback_ft):
    # Najafi, Trenchless Technology Piping, ch. 5, eq. 5.7: 10-ft rod, radius 100 ft, 15 degrees: 72 in. and
    # "at least 35 ft". The other angles are computed in the list by the same formula.
    stations, elevations = profile(
        [10.0, 100.0 * np.radians(angle_deg)], [-angle_deg, -angle_deg, 0.0]
    ).joints_m()
    assert -12.0 * elevations[-1] == pytest.approx(depth_in, abs=0.005)
    assert stations[-1] == pytest.approx(setback_ft, abs=5e-4)


@pytest.mark.parametrize(
    ("radius", "angle_deg", "drop", "run"),
    [(100, 10, 1.51922, 17.36482), (150, 12, 3.27786, 31.18675), (1200, 12, 26.22288, 249.49403)],
)
def test_an_arc_to_level_is_its_closed_form(radius, angle_deg, drop, run):
    # Closed forms R (1 - cos a) and R sin a, the list's section 2b.
    stations, elevations = profile([radius * np.radians(angle_deg)], [-angle_deg, 0.0]).joints_m()
    assert (-elevations[-1], stations[-1]) == pytest.approx((drop, run), abs=6e-6)


@pytest.mark.parametrize(
    ("radius_ft", "rod_ft", "percent"), [(100, 30, 30.9), (100, 20, 20.3), (100, 10, 10.0)]
)
def test_pitch_change_of_a_rod_at_its_least_radius(radius_ft, rod_ft, percent):
    # undergroundsolutions.com, rod deflection table; the convention is tan(L / R) from level.
    bent = profile([rod_ft], [0.0, -np.degrees(rod_ft / radius_ft)])
    assert -100.0 * np.tan(bent.angles_rad[-1]) == pytest.approx(percent, abs=0.06)


@settings(max_examples=100, deadline=None)
@given(pitches)
def test_joints_are_those_of_wellpathpy(pitches_ratio):
    rods = rods_of(pitches_ratio)
    along = np.concatenate([[0.0], np.cumsum(rods.lengths_m)])
    theirs = wellpathpy.deviation(
        md=along, inc=90.0 + np.degrees(rods.angles_rad), azi=np.zeros(len(along))
    ).minimum_curvature()
    stations, elevations = rods.joints_m()
    # wellpathpy takes the turn by an arc cosine, which near 0 is good to 1e-8 only.
    assert stations == pytest.approx(theirs.northing, abs=1e-8 * along[-1] + 1e-9)
    assert elevations + 1.0 == pytest.approx(-theirs.depth, abs=1e-8 * along[-1] + 1e-9)


@settings(max_examples=100, deadline=None)
@given(pitches)
def test_points_between_the_joints_lie_on_the_engines_path(pitches_ratio):
    rods = rods_of(pitches_ratio)
    lengths = np.concatenate([[0.0], rods.lengths_m])
    path = path_of_rods(
        ALONG_NORTH, Rods(-1.0, lengths, np.tan(rods.angles_rad), np.full(len(lengths), np.nan))
    )
    # The path's vertices lie on the arcs.
    assert rods.at(path.stations_m).elevations_m == pytest.approx(path.points_m[:, 2], abs=1e-7)


@settings(max_examples=60, deadline=None)
@given(pitches, st.floats(0.05, 0.95))
def test_slopes_are_those_of_small_moves(pitches_ratio, part):
    rods = rods_of(pitches_ratio)
    count, step = len(rods.lengths_m), 1e-6
    stations = np.array([part * rods.joints_m()[0][-1]])
    places = rods.at(stations)
    runs, rises = rod_slopes(rods.lengths_m, rods.angles_rad)
    rod = int(places.rods[0])
    by_first, by_last, _by_length, by_station = place_slopes(
        rods.lengths_m[rod], rods.angles_rad[rod], places.fractions[0], places.angles_rad[0]
    )
    for joint in range(count + 1):
        angles = rods.angles_rad.copy()
        angles[joint] += step
        moved = RodProfile(0.0, -1.0, rods.lengths_m, angles).at(stations)
        # What the rods before move their far ends by, and what the rod itself does.
        before = [(0, joint), (1, joint - 1)]
        run = sum(runs[at, end] for end, at in before if 0 <= at < rod)
        rise = sum(rises[at, end] for end, at in before if 0 <= at < rod)
        expected = rise + by_station * run
        expected += by_first * (joint == rod) + by_last * (joint == rod + 1)
        found = (moved.elevations_m[0] - places.elevations_m[0]) / step
        assert found == pytest.approx(expected, abs=2e-4 * count)
