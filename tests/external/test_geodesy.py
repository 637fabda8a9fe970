"""The ground frame against geodesics on the ellipsoid, and feet against their definitions.

Published geodesics are checked on pyproj's own solver first, so that what then judges the frame is itself
judged. Those of the GeographicLib manual and of the GDA manual are quoted in the list from memory.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS, Geod, Transformer

from conflicts.engine.frame import EARTH_MEAN_RADIUS_M, GroundFrame, frame_about
from locates.units import METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT, parse_length_m

WGS84 = Geod(ellps="WGS84")
AUSTIN = (30.2672, -97.7431)


@pytest.mark.parametrize(
    ("start", "end", "length_m", "within_m"),
    [
        ((-41.32, 174.81), (40.96, -5.50), 19959679.267, 5e-4),
        ((40.6, -73.8), (51.6, -0.5), 5551759.400, 5e-4),
        ((36.530042355041, 0.0), (-48.1642707790977689, 5.7623446946765105), 9398502.0434687, 1e-6),
    ],
    ids=["Wellington to Salamanca, from memory", "JFK to LHR", "GeodTest first line, from memory"],
)
def test_published_geodesics(start, end, length_m, within_m):
    _, _, found_m = WGS84.inv(start[1], start[0], end[1], end[0])
    assert found_m == pytest.approx(length_m, abs=within_m)


def test_flinders_peak_to_buninyong():
    # GDA Technical Manual, GRS80: 54 972.271 m, 306 52' 05.37", reverse 127 10' 25.07". From memory.
    grs80 = Geod(ellps="GRS80")
    flinders = (144 + 25 / 60 + 29.52440 / 3600, -(37 + 57 / 60 + 3.72030 / 3600))
    buninyong = (143 + 55 / 60 + 35.38390 / 3600, -(37 + 39 / 60 + 10.15610 / 3600))
    azimuth, back, length_m = grs80.inv(*flinders, *buninyong)
    assert length_m == pytest.approx(54972.271, abs=5e-4)
    assert azimuth % 360 == pytest.approx(306 + 52 / 60 + 5.37 / 3600, abs=0.005 / 3600)
    assert back % 360 == pytest.approx(127 + 10 / 60 + 25.07 / 3600, abs=0.005 / 3600)


@pytest.mark.parametrize(
    ("centre", "radius_m", "centre_to_edge_mm", "segment_mm"),
    [
        (AUSTIN, 500.0, 0.001, 0.0004),
        (AUSTIN, 1000.0, 0.004, 0.0014),
        (AUSTIN, 5000.0, 0.51, 0.031),
        (AUSTIN, 10000.0, 4.11, 0.125),
        ((45.0, -93.0), 5000.0, 0.512, 0.031),
        ((64.8, -147.7), 5000.0, 0.510, 0.031),
    ],
)
def test_distances_of_the_frame_are_those_of_the_ellipsoid(centre, radius_m, centre_to_edge_mm, segment_mm):
    # The list's table for transverse Mercator with scale 1 about the site, computed there with pyproj.
    latitude, longitude = centre
    frame = GroundFrame(longitude, latitude)
    azimuths = np.arange(0.0, 360.0, 5.0)
    count = len(azimuths)
    edge_lon, edge_lat, _ = WGS84.fwd(
        np.full(count, longitude), np.full(count, latitude), azimuths, np.full(count, radius_m)
    )
    edge = frame.to_ground(edge_lon, edge_lat)
    off_mm = 1000.0 * np.abs(np.linalg.norm(edge, axis=1) - radius_m)
    assert off_mm.max() <= 1.02 * centre_to_edge_mm + 5e-4
    worst_mm = 0.0
    for turn in np.arange(0.0, 180.0, 15.0):
        end_lon, end_lat, _ = WGS84.fwd(edge_lon, edge_lat, np.full(count, turn), np.full(count, 100.0))
        lengths = np.linalg.norm(frame.to_ground(end_lon, end_lat) - edge, axis=1)
        worst_mm = max(worst_mm, 1000.0 * float(np.abs(lengths - 100.0).max()))
    # The table's segments lie within the radius; those here start on it and end up to 100 m outside.
    assert worst_mm <= segment_mm * (1.0 + 100.0 / radius_m) ** 2 + 5e-4


@pytest.mark.parametrize(("height_m", "more_mm"), [(100, 4.7), (500, 23.5), (1600, 75.0), (2500, 118.0)])
def test_ground_distances_are_longer_by_height(height_m, more_mm):
    # Ground distance = grid (1 + h / R): the list's figures over 300 m; 251 ppm at 1,600 m.
    latitude, longitude = AUSTIN
    end = WGS84.fwd(longitude, latitude, 37.0, 300.0)[:2]
    low, high = (
        np.linalg.norm(GroundFrame(longitude, latitude, h).to_ground(*end)) for h in (None, height_m)
    )
    assert 1000.0 * (high - low) == pytest.approx(more_mm, abs=0.6)
    # The projection itself is good to some 1e-10 m, which in 300 m is 1e-12.
    assert high / low == pytest.approx(1.0 + height_m / EARTH_MEAN_RADIUS_M, rel=1e-11)
    if height_m == 1600:
        assert round(1e6 * (high / low - 1.0)) == 251


@settings(max_examples=100, deadline=None)
@given(
    st.floats(-180.0, 180.0),
    st.floats(-75.0, 75.0),
    st.floats(0.0, 360.0),
    st.floats(0.0, 360.0),
    st.floats(1.0, 500.0),
    st.floats(-100.0, 3000.0),
)
def test_random_jobs_anywhere_are_true_to_their_geodesics(
    longitude, latitude, first, second, length_m, height_m
):
    # 180 degrees and both hemispheres included. Scale error at 1 km is 0.012 ppm (the list's table).
    a = WGS84.fwd(longitude, latitude, first, 300.0)[:2]
    b = WGS84.fwd(*a, second, length_m)[:2]
    frame = frame_about([np.array([a, b])], height_m)
    found_m = np.linalg.norm(np.diff(frame.to_ground([a[0], b[0]], [a[1], b[1]]), axis=0))
    assert found_m == pytest.approx(
        length_m * (1.0 + height_m / EARTH_MEAN_RADIUS_M), abs=2e-8 * length_m + 1e-8
    )
    again = frame.to_geographic(frame.to_ground([a[0], b[0]], [a[1], b[1]]))
    turn = (again[:, 0] - [a[0], b[0]] + 180.0) % 360.0 - 180.0
    assert np.abs(turn).max() < 1e-11 / np.cos(np.radians(76.0))
    assert again[:, 1] == pytest.approx([a[1], b[1]], abs=1e-11)


def test_feet_are_those_of_the_law():
    # International foot exact; US survey foot 1200 / 3937 m, deprecated by 85 FR 62698 (5 October 2020).
    assert METRES_PER_FOOT == 0.3048
    assert METRES_PER_US_SURVEY_FOOT == 1200 / 3937
    ratio = METRES_PER_US_SURVEY_FOOT / METRES_PER_FOOT
    assert ratio == pytest.approx(1.000002000004, rel=1e-13)
    assert parse_length_m("1000000 usft") - parse_length_m("1000000 ft") == pytest.approx(
        2.0 * 0.3048, abs=1e-4
    )


@pytest.mark.parametrize(
    ("code", "name", "unit_m"),
    [
        (2277, "NAD83 / Texas Central (ftUS)", METRES_PER_US_SURVEY_FOOT),
        (2222, "NAD83 / Arizona East (ft)", METRES_PER_FOOT),
    ],
)
def test_feet_of_state_plane_zones(code, name, unit_m):
    system = CRS.from_epsg(code)
    assert system.name == name
    assert system.axis_info[0].unit_conversion_factor == pytest.approx(unit_m, rel=1e-15)


def test_a_survey_foot_read_as_an_international_one_moves_a_state_plane_point():
    # The list: (-97.7431, 30.2672) in EPSG:2277; in the wrong feet it moves 6.23 ft east, 20.14 ft north.
    to_plane = Transformer.from_crs(4326, 2277, always_xy=True)
    east, north = to_plane.transform(AUSTIN[1], AUSTIN[0])
    assert (east, north) == pytest.approx((3114226.2142, 10070436.1313), abs=5e-4)
    moved = np.array([east, north]) * (METRES_PER_US_SURVEY_FOOT / METRES_PER_FOOT - 1.0)
    assert moved == pytest.approx((6.23, 20.14), abs=0.005)
