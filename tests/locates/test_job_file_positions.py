"""Coordinates: longitude first, on the globe, at one place; areas do not cross themselves."""

import math
import random

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from locates.errors import JobFileError
from locates.exchange.areas import area_faults
from locates.exchange.job_file import read_job_file
from locates.exchange.positions import distance_faults
from tests.job_documents import (
    CURB,
    GROUND,
    HOLE,
    LATITUDE_DEG,
    LONGITUDE_DEG,
    MARK,
    TICKET,
    feature,
    job_bytes,
    job_document,
    place,
    ring,
)


def refusal(document):
    with pytest.raises(JobFileError) as refused:
        read_job_file(job_bytes(document))
    return refused.value


def with_coordinates(index, coordinates, shape=None):
    document = job_document()
    document["features"][index]["geometry"]["coordinates"] = coordinates
    if shape:
        document["features"][index]["geometry"]["type"] = shape
    return document


def moved(document, east_deg, north_deg):
    """The document at another place, longitudes kept within 180 degrees."""

    def position(coordinates):
        if isinstance(coordinates[0], list):
            return [position(inner) for inner in coordinates]
        longitude = (coordinates[0] + east_deg + 180.0) % 360.0 - 180.0
        return [longitude, coordinates[1] + north_deg]

    for one in document["features"]:
        one["geometry"]["coordinates"] = position(one["geometry"]["coordinates"])
    return document


@pytest.mark.parametrize(
    ("position", "words"),
    [
        ([LATITUDE_DEG, LONGITUDE_DEG], "a latitude beyond 90 degrees: swapped?"),
        ([40.0, -75.0], "a place in the Antarctic: swapped?"),
        ([181.0, 39.0], "off the globe"),
        ([-93.5, 90.5], "off the globe"),
        ([-9350000, 3900000], "off the globe"),
        ([-93.5, 39.0, 250.0], "three numbers"),
        ([-93.5], "1 numbers"),
        ([-93.5, 39.0, 1, 2], "4 numbers"),
        ([], "an empty list"),
        (["-93.5", 39.0], '"-93.5" (text) in a position'),
        ([True, 39.0], "true in a position"),
        ([None, None], "null in a position"),
        ([[-93.5, 39.0]], "a list of 2 in a position"),
        ("-93.5,39.0", '"-93.5,39.0" (text)'),
        (-93.5, "-93.5"),
        (None, "null"),
        ({"longitude": -93.5, "latitude": 39.0}, "an object of 2 members"),
    ],
)
def test_a_position_that_is_none_is_refused(position, words):
    refused = refusal(with_coordinates(HOLE, position))
    assert (refused.feature, refused.field) == (HOLE, "geometry.coordinates")
    assert words in refused.found
    assert "[longitude, latitude]" in refused.accepted


def test_a_height_in_a_position_is_refused_with_the_reason():
    refused = refusal(with_coordinates(HOLE, [-93.5, 39.0, 250.0]))
    assert "heights and depths have members of their own" in refused.accepted


def test_a_position_inside_a_line_is_told_by_its_index():
    refused = refusal(with_coordinates(MARK, [place(0, 0), [39.0, -93.5]]))
    assert refused.field == "geometry.coordinates[1]"


@pytest.mark.parametrize(
    ("index", "coordinates", "words"),
    [
        (MARK, [], "an empty list"),
        (TICKET, [], "an empty list"),
        (TICKET, [[]], "an empty list"),
        (MARK, place(0, 0), "-93.5"),
        (TICKET, ring(0, 0, 9, 9), "-93.5"),
        (MARK, [place(0, 0)], "one distinct position"),
        (MARK, [place(0, 0), place(0, 0), place(0, 0)], "one distinct position"),
        (MARK, [place(0, 0), [LONGITUDE_DEG + 1e-12, LATITUDE_DEG]], "one distinct position"),
        (TICKET, [ring(0, 0, 9, 9)[:3]], "a ring of 3 positions"),
        (TICKET, [ring(0, 0, 9, 9)[:4]], "an open ring"),
        (TICKET, [[place(0, 0), place(1, 1), place(0, 0)]], "a ring of 3 positions"),
    ],
)
def test_an_empty_or_unfinished_shape_is_refused(index, coordinates, words):
    refused = refusal(with_coordinates(index, coordinates))
    assert refused.feature == index
    assert words in refused.found


def test_a_line_from_one_side_of_the_180th_meridian_to_the_same_place_is_one_position():
    document = moved(job_document(), -86.5, 0.0)
    document["features"][MARK]["geometry"]["coordinates"] = [[180.0, 39.0], [-180.0, 39.0]]
    assert "one distinct position" in refusal(document).found


def test_repeated_points_of_a_mark_are_kept():
    line = [place(0, 0), place(0, 0), place(1, 1), place(1, 1)]
    read = read_job_file(job_bytes(with_coordinates(MARK, line)))
    assert read["features"][MARK]["geometry"]["coordinates"] == line


def test_a_work_area_that_crosses_itself_is_refused_saying_where():
    bow_tie = [place(0, 0), place(10, 10), place(10, 0), place(0, 10), place(0, 0)]
    refused = refusal(with_coordinates(TICKET, [bow_tie]))
    assert (refused.feature, refused.field) == (TICKET, "geometry.coordinates")
    assert refused.found == "a boundary that crosses itself at [-93.4999500, 39.0000500]"


def test_a_work_area_that_crosses_itself_on_the_180th_meridian_is_refused_saying_where():
    bow_tie = [
        [179.9999, 51.0],
        [-179.9999, 51.0002],
        [-179.9999, 51.0],
        [179.9999, 51.0002],
        [179.9999, 51.0],
    ]
    area = feature("ticket", "Polygon", [bow_tie])
    (fault,) = area_faults({"features": [area]}, [(0, area)])
    assert fault.found == "a boundary that crosses itself at [-180.0000000, 51.0001000]"


@pytest.mark.parametrize(
    ("rings", "words"),
    [
        ([ring(0, 0, 9, 9), ring(20, 20, 22, 22)], "a hole outside of its boundary"),
        ([ring(0, 0, 9, 9), ring(1, 1, 5, 5), ring(2, 2, 3, 3)], "a hole inside of another hole"),
        ([[place(0, 0), place(5, 0), place(9, 0), place(0, 0)]], "at [-93.4999"),
        ([[place(0, 0), place(0, 0), place(0, 0), place(0, 0)]], "a boundary without an area"),
    ],
)
def test_an_area_that_is_none_is_refused(rings, words):
    assert words in refusal(with_coordinates(TICKET, rings)).found


def test_a_drawn_area_of_the_map_may_not_cross_itself_either():
    document = job_document()
    document["features"][CURB]["geometry"] = {
        "type": "Polygon",
        "coordinates": [[place(0, 0), place(10, 10), place(10, 0), place(0, 10), place(0, 0)]],
    }
    assert refusal(document).feature == CURB


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ([[ring(0, 0, 9, 9)], [ring(5, 5, 15, 15)]], "parts that overlap or share an edge at [-93.4999"),
        ([[ring(0, 0, 9, 9)], [ring(9, 0, 15, 9)]], "parts that overlap or share an edge"),
        ([[ring(0, 0, 9, 9)], [ring(2, 2, 4, 4)]], "parts that overlap or share an edge"),
        (
            [
                [ring(0, 0, 9, 9)],
                [[place(20, 20), place(30, 30), place(30, 20), place(20, 30), place(20, 20)]],
            ],
            "crosses",
        ),
    ],
)
def test_parts_of_a_work_area_that_overlap_are_refused(parts, words):
    assert words in refusal(with_coordinates(TICKET, parts, "MultiPolygon")).found


def test_parts_of_a_work_area_that_lie_apart_or_touch_in_a_point_are_accepted():
    parts = [[ring(0, 0, 9, 9)], [ring(9, 9, 15, 15)], [ring(30, 0, 40, 9)]]
    assert read_job_file(job_bytes(with_coordinates(TICKET, parts, "MultiPolygon")))


@pytest.mark.parametrize(
    ("east_deg", "north_deg"),
    [(-86.5003, 0.0), (273.4997, -80.0), (93.5, -39.0), (247.0, -72.0), (-86.5, 30.9)],
)
def test_a_job_is_accepted_at_any_longitude_and_in_both_hemispheres(east_deg, north_deg):
    assert read_job_file(job_bytes(moved(job_document(), east_deg, north_deg)))


def test_neighbours_across_the_180th_meridian_are_neighbours():
    here, there = (
        feature("ground_point", "Point", [longitude, 51.0], elevation_m=0.0)
        for longitude in (179.9995, -179.9995)
    )
    assert list(distance_faults({"features": [here, there]}, [(0, here), (1, there)])) == []


def test_a_work_area_that_only_the_cut_map_sees_crossing_itself_asks_to_be_cut():
    notched = [
        [179.9, 51.0], [-179.9, 51.0], [-179.9, 51.2], [-179.99, 51.1], [179.99, 51.05], [179.9, 51.2],
        [179.9, 51.0],
    ]  # fmt: skip
    assert shapely.Polygon([(longitude % 360, latitude) for longitude, latitude in notched]).is_valid
    assert not shapely.Polygon(notched).is_valid
    area = feature("ticket", "Polygon", [notched])
    (fault,) = area_faults({"features": [area]}, [(0, area)])
    assert "cut at the 180th meridian" in fault.accepted


def test_a_feature_far_from_the_rest_is_refused_with_the_distance():
    refused = refusal(with_coordinates(GROUND, [13.4, 52.5]))  # 7,649.4 km by pyproj.Geod on a sphere
    assert (refused.feature, refused.field) == (GROUND, "geometry.coordinates")
    assert "lies 7,649 km from the rest of the job" in refused.found
    assert "longitude comes first" in refused.accepted


def test_a_swapped_position_that_the_globe_allows_is_found_by_its_distance():
    document = moved(job_document(), 103.5, 10.0)
    document["features"][GROUND]["geometry"]["coordinates"] = [49.0, 10.0]
    refused = refusal(document)
    assert refused.feature == GROUND
    assert refused.found.endswith("from the rest of the job: swapped?")


def test_of_two_features_far_apart_both_are_told():
    document = job_document()
    document["features"] = [document["features"][GROUND], document["features"][CURB]]
    document["features"][0]["geometry"]["coordinates"] = [-93.5, 41.0]
    document["job"]["requirements"] = []
    assert [error.feature for error in refusal(document).errors] == [0, 1]


def test_one_vertex_far_from_its_own_line_is_refused_in_a_file_of_one_feature():
    document = job_document()
    document["features"] = [document["features"][CURB]]
    document["features"][0]["geometry"]["coordinates"] = [
        place(0, 0),
        place(5, 0),
        place(9, 0),
        [-93.5, 41.0],
    ]
    document["job"]["requirements"] = []
    assert "from the rest of the job" in refusal(document).found


def test_a_file_of_one_ordinary_feature_or_of_none_is_accepted():
    document = job_document()
    document["job"]["requirements"] = []
    document["features"] = [document["features"][GROUND]]
    assert read_job_file(job_bytes(document))
    document["features"] = []
    assert read_job_file(job_bytes(document))


@given(
    st.floats(-180, 180),
    st.floats(-59, 74),
    st.floats(0, 2 * math.pi),
    st.floats(1e5 * 1.02, 1.9e7),
)
def test_the_distance_from_the_rest_is_the_great_circle_s(longitude, latitude, bearing, distance_m):
    """Destination of a great circle by its own formula, as the reference of the chord's."""
    angle = distance_m / 6371008.8
    lat, lon = math.radians(latitude), math.radians(longitude)
    sine = math.sin(lat) * math.cos(angle) + math.cos(lat) * math.sin(angle) * math.cos(bearing)
    far_lat = math.asin(max(-1.0, min(1.0, sine)))
    far_lon = lon + math.atan2(
        math.sin(bearing) * math.sin(angle) * math.cos(lat),
        math.cos(angle) - math.sin(lat) * math.sin(far_lat),
    )
    far = [(math.degrees(far_lon) + 180.0) % 360.0 - 180.0, math.degrees(far_lat)]
    features = [
        (index, feature("ground_point", "Point", position, elevation_m=0.0))
        for index, position in enumerate([[longitude, latitude]] * 3 + [far])
    ]
    (fault,) = distance_faults({"features": [one for _, one in features]}, features)
    assert fault.feature == 3
    assert f"lies {distance_m / 1000:,.0f} km" in fault.found


@given(st.integers(3, 7), st.integers(0, 10_000), st.floats(-180, 180))
def test_an_area_crosses_itself_at_any_longitude_as_it_does_at_greenwich(corners, seed, longitude):
    draw = random.Random(seed)  # noqa: S311 - shapes, not secrets
    points = [(draw.uniform(-4e-4, 4e-4), draw.uniform(-4e-4, 4e-4)) for _ in range(corners)]
    there = [[(x + longitude + 180.0) % 360.0 - 180.0, 39.0 + y] for x, y in points]
    area = feature("ticket", "Polygon", [[*there, there[0]]])
    faults = list(area_faults({"features": [area]}, [(0, area)]))
    crosses_itself = [fault for fault in faults if "180th meridian" not in fault.found]
    assert bool(crosses_itself) == (not shapely.Polygon(points).is_valid)
