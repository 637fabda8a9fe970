"""Arcs, grades and rods against closed forms and published answers, in feet where the source has feet."""

import numpy as np
import pytest

from conflicts.engine.arcs import minimum_curvature, points_along
from conflicts.engine.drillability import end_pitches_ratio, tightest_rod
from conflicts.engine.path import Rods, path_of_rods

ALIGNMENT = np.array([(0.0, 0.0), (0.0, 1.0)])


def rod_path(lengths, pitches_ratio):
    """Path of rods from the origin; its stations and its depths below the entry."""
    rods = Rods(0.0, np.array([0.0, *lengths]), np.array(pitches_ratio), np.full(len(pitches_ratio), np.nan))
    path = path_of_rods(ALIGNMENT, rods)
    return path.stations_m, -path.points_m[:, 2]


@pytest.mark.parametrize(
    ("radius", "angle_deg", "drop", "run", "arc"),
    [
        (100, 10, 1.51922, 17.36482, 17.45329),
        (100, 15, 3.40742, 25.88190, 26.17994),
        (100, 20, 6.03074, 34.20201, 34.90659),
        (150, 12, 3.27786, 31.18675, 31.41593),
        (500, 10, 7.59612, 86.82409, 87.26646),
        (1200, 12, 26.22288, 249.49403, 251.32741),
    ],
)
def test_an_arc_to_level_drops_and_runs_as_its_closed_form(radius, angle_deg, drop, run, arc):
    # Closed forms d = R (1 - cos a), s = R sin a, length R a (from memory in the list, computed there).
    stations, depths = rod_path([radius * np.radians(angle_deg)], [-np.tan(np.radians(angle_deg)), 0.0])
    assert (depths[-1], stations[-1]) == pytest.approx((drop, run), abs=6e-6)
    assert radius * np.radians(angle_deg) == pytest.approx(arc, abs=6e-6)
    assert radius == pytest.approx((run**2 + drop**2) / (2.0 * drop), rel=1e-5)


@pytest.mark.parametrize(
    ("angle_deg", "depth_in", "setback_ft"),
    [(15, 71.95, 35.541), (10, 39.07, 27.2129), (20, 113.41, 43.5989)],
)
def test_first_rod_straight_then_least_radius(angle_deg, depth_in, setback_ft):
    # Najafi, Trenchless Technology Piping, ch. 5, eq. 5.7: with a 10-ft rod and radius 100 ft, 15 degrees is
    # not consistent with a level depth under 72 in., which needs a setback of at least 35 ft. The other two
    # angles are computed in the list by the same formula.
    angle = np.radians(angle_deg)
    stations, depths = rod_path([10.0, 100.0 * angle], [-np.tan(angle), -np.tan(angle), 0.0])
    assert 12.0 * depths[-1] == pytest.approx(depth_in, abs=0.005)
    assert stations[-1] == pytest.approx(setback_ft, abs=5e-4)


def test_the_published_level_depth_of_72_inches_and_setback_of_35_feet():
    angle = np.radians(15.0)
    stations, depths = rod_path([10.0, 100.0 * angle], [-np.tan(angle), -np.tan(angle), 0.0])
    assert round(12.0 * depths[-1]) == 72
    assert int(stations[-1]) == 35


def test_straight_to_depth_reaches_72_inches_past_20_feet():
    # Najafi, eq. 5.5, S = d / tan b: "slightly in excess of 20 ft"; computed 22.392 ft.
    stations, depths = rod_path([30.0], [-np.tan(np.radians(15.0))] * 2)
    assert np.interp(6.0, depths, stations) == pytest.approx(22.392, abs=5e-4)


@pytest.mark.parametrize(
    ("radius_ft", "rod_ft", "percent"),
    [
        (100, 30, 30.9),
        (100, 20, 20.3),
        (144, 20, 14.0),
        (144, 30, 21.1),
        (100, 15, 15.1),
        (100, 10, 10.0),
        (100, 6, 6.0),
    ],
)
def test_slope_change_of_a_rod_at_its_least_radius(radius_ft, rod_ft, percent):
    # undergroundsolutions.com rod deflection table: 30.9 % and 20.3 % at 100 ft, 14 % at 144 ft with 20-ft
    # rods, the convention being tan(L / R) from level; the rest computed in the list.
    turn = rod_ft / radius_ft
    assert 100.0 * np.tan(turn) == pytest.approx(percent, abs=0.06)
    stations, depths = rod_path([float(rod_ft)], [0.0, -percent / 100.0])
    bend = tightest_rod(np.array([float(rod_ft)]), np.array([np.arctan(percent / 100.0)]), np.zeros(1))
    assert bend is not None
    assert bend.radius_m == pytest.approx(radius_ft, rel=5e-3)
    assert depths[-1] == pytest.approx(bend.radius_m * (1.0 - np.cos(rod_ft / bend.radius_m)), abs=1e-9)
    assert stations[-1] == pytest.approx(bend.radius_m * np.sin(rod_ft / bend.radius_m), abs=1e-9)


def test_a_pitch_in_percent_is_a_tangent():
    # Trade article on rod-by-rod plans: 10-ft rods at -25, -15, -5, +5, +15 %. It prints rod times percent,
    # 2.5 ft after the first; the exact straight rods of the list: 2.425, 3.909, 4.408, 3.909, 2.425 ft.
    depth, found = 0.0, []
    for pitch in (-0.25, -0.15, -0.05, 0.05, 0.15):
        depth += rod_path([10.0], [pitch, pitch])[1][-1]
        found.append(depth)
    assert found == pytest.approx([2.425, 3.909, 4.408, 3.909, 2.425], abs=6e-4)


def test_depth_after_each_rod_by_minimum_curvature():
    # The list's section 8, third rule: pitches -20, -20, -12, -4, 0, +4 %, 10-ft rods.
    pitches = np.array([-20, -20, -12, -4, 0, 4]) / 100
    points = minimum_curvature(np.arange(6) * 10.0, 0.5 * np.pi + np.arctan(pitches), np.zeros(6))
    assert -points[1:, 2] == pytest.approx([1.9612, 3.5383, 4.3343, 4.5341, 4.3343], abs=6e-5)
    assert points[1:, 1] == pytest.approx([9.8058, 19.6781, 29.6437, 39.6411, 49.6384], abs=6e-5)


@pytest.mark.parametrize(
    ("percent", "degrees"),
    [(1, 0.57294), (10, 5.71059), (18, 10.20397), (20, 11.30993), (45, 24.22775), (100, 45.0)],
)
def test_grades_and_degrees(percent, degrees):
    stations, depths = rod_path([10.0], [-percent / 100.0] * 2)
    assert np.degrees(np.arctan2(depths[-1], stations[-1])) == pytest.approx(degrees, abs=6e-6)


@pytest.mark.parametrize(("degrees", "label_percent"), [(5, 9), (10, 18), (15, 27), (20, 36)])
def test_grades_printed_beside_their_angles(degrees, label_percent):
    # Najafi's figure labels. Its label "13 degrees (58 %)" is an error, 58 % being 30.1 degrees: left out.
    rods = Rods(0.0, np.array([0.0, 10.0]), -np.tan(np.radians([degrees] * 2)), np.full(2, np.nan))
    assert round(-100.0 * end_pitches_ratio(path_of_rods(ALIGNMENT, rods))[0]) == label_percent


@pytest.mark.parametrize(("radius_m", "rod_m", "miss_mm"), [(30.48, 3.048, 38.1), (60.96, 4.572, 42.9)])
def test_arcs_are_not_their_chords(radius_m, rod_m, miss_mm):
    # Chord error R (1 - cos(L / 2R)), computed in the list; the path's own chords miss by 1 mm at most.
    turn = rod_m / radius_m
    arc = points_along([0.0, rod_m], 0.5 * np.pi + np.array([-turn, 0.0]), np.zeros(2))
    chord = np.array([arc[-1, 1], arc[-1, 2]]) / np.hypot(arc[-1, 1], arc[-1, 2])
    away = np.abs(arc[:, 1] * chord[1] - arc[:, 2] * chord[0])
    assert 1000.0 * away.max() == pytest.approx(miss_mm, abs=0.06)
    middles = 0.5 * (arc[1:] + arc[:-1])
    centre = arc[-1] + [0.0, 0.0, radius_m]
    assert radius_m - np.linalg.norm(middles - centre, axis=1).min() <= 0.001
