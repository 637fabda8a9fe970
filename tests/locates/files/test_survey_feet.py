"""Feet of either kind, on the ground and in depth: a 2 ppm slip moves a state-plane position by 6 m."""

import numpy as np
import pytest
from pyproj import Geod, Transformer

from locates.errors import LocatesError
from locates.exchange.coordinate_systems import system_of_code, system_of_description
from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_files import read_tables
from locates.exchange.vector_kinds import KINDS
from locates.exchange.vector_rows import read_rows
from locates.units import METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT
from tests.surveyed_files import confirmed

# pyproj's own answer for a place in Texas, as published check values have it:
# EPSG:2277 of (-97.7431, 30.2672) is 3114226.2142, 10070436.1313 US survey feet.
PLACE_DEG = (-97.7431, 30.2672)
PLACE_USFT = (3114226.2142, 10070436.1313)
MILLIMETRE_M = 0.001
EARTH = Geod(ellps="WGS84")

# As field programs write it: Arizona Central labelled with the US survey foot, though EPSG's Arizona zones
# use the international foot. What the file says counts, and its unit is shown.
ESRI_ARIZONA_CENTRAL = (
    'PROJCS["NAD_1983_StatePlane_Arizona_Central_FIPS_0202_Feet",GEOGCS["GCS_North_American_1983",'
    'DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],'
    'UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",699998.6],'
    'PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-111.9166666666667],'
    'PARAMETER["Scale_Factor",0.9999],PARAMETER["Latitude_Of_Origin",31.0],UNIT["Foot_US",0.3048006096012192]]'
)


def positions(csv, **chosen):
    (table,) = read_tables("survey.csv", csv.encode())
    mapping = confirmed(table, "ground_point", **chosen)
    reading = read_rows(table, KINDS["ground_point"], mapping, "America/Chicago")
    assert reading.errors == []
    return np.array([feature["geometry"]["coordinates"] for feature in reading.features]), reading.features


CSV = f"Point,Easting,Northing,elev_m\n1,{PLACE_USFT[0]},{PLACE_USFT[1]},150\n"


def distance_m(one, other):
    return EARTH.inv(*one, *other)[2]


def test_us_survey_feet_land_within_a_millimetre_of_pyproj_and_of_the_published_place():
    (found,), _ = positions(CSV, epsg="2277", unit="us_survey_foot")
    by_pyproj = Transformer.from_crs(2277, 4326, always_xy=True).transform(*PLACE_USFT)
    assert distance_m(found, by_pyproj) < MILLIMETRE_M
    # The published figures have four decimals of a foot.
    assert distance_m(found, PLACE_DEG) < MILLIMETRE_M


def test_international_feet_in_the_same_system_lie_6_ft_east_and_20_ft_north_of_it():
    """The size of the slip: 6.23 ft E and 20.14 ft N, as published."""
    to_feet = Transformer.from_crs(4326, 2277, always_xy=True).transform
    (found,), _ = positions(CSV, epsg="2277", unit="foot")
    east, north = np.subtract(PLACE_USFT, to_feet(*found))
    assert east == pytest.approx(6.23, abs=0.005)
    assert north == pytest.approx(20.14, abs=0.005)


def test_metres_are_turned_into_the_feet_of_the_system():
    metres = [repr(value * METRES_PER_US_SURVEY_FOOT) for value in PLACE_USFT]
    (found,), _ = positions(f"x,y,elev_m\n{metres[0]},{metres[1]},1\n", epsg="2277", unit="m")
    assert distance_m(found, PLACE_DEG) < MILLIMETRE_M


@pytest.mark.parametrize(
    ("code", "unit"), [("2277", "us_survey_foot"), ("2222", "foot"), ("6577", "m"), ("4269", "degree")]
)
def test_the_unit_of_a_system_is_told_by_its_axes(code, unit):
    assert system_of_code(code).unit == unit


def test_a_description_counts_with_the_foot_that_it_says():
    system = system_of_description(ESRI_ARIZONA_CENTRAL)
    assert system.unit == "us_survey_foot"
    assert system_of_code("2223").unit == "foot"


def test_coordinates_in_no_unit_are_refused_and_none_is_guessed():
    (table,) = read_tables("survey.csv", b"x_ft,y_ft,elevation_ft\n1,2,3\n")
    mapping = confirmed(table, "ground_point", epsg="2277")
    assert mapping.unit == ""
    assert mapping.source("elevation_m").unit == ""
    with pytest.raises(VectorFileError, match="without a unit"):
        read_rows(table, KINDS["ground_point"], mapping, "America/Chicago")


@pytest.mark.parametrize("unit", ["degree", "furlong", "m"])
def test_a_unit_that_does_not_fit_the_system_is_refused(unit):
    code = "4326" if unit == "m" else "2277"
    with pytest.raises(VectorFileError, match="coordinates in"):
        positions(CSV, epsg=code, unit=unit)


@pytest.mark.parametrize(
    ("unit", "metres"), [("us_survey_foot", METRES_PER_US_SURVEY_FOOT), ("foot", METRES_PER_FOOT), ("m", 1.0)]
)
def test_elevations_take_the_unit_that_was_chosen_for_their_column(unit, metres):
    csv = CSV.replace("elev_m", "Elev").replace(",150\n", ",5280\n")
    _, (feature,) = positions(csv, epsg="2277", unit="us_survey_foot", units={"elevation_m": unit})
    assert feature["properties"]["elevation_m"] == pytest.approx(5280 * metres, abs=1e-9)


@pytest.mark.parametrize("code", ["4267", "26777"])
def test_a_datum_whose_shift_is_not_known_here_is_refused_not_shifted_by_nothing(code):
    system = system_of_code(code)
    with pytest.raises(LocatesError, match="whose shift to WGS 84 is not known"):
        system.to_wgs_84(np.array([2e6 if code == "26777" else -98.0]), np.array([39.0]), system.unit)


def test_the_shift_of_a_datum_is_told_with_its_accuracy():
    system = system_of_code("2277")
    system.to_wgs_84(np.array([PLACE_USFT[0]]), np.array([PLACE_USFT[1]]), "us_survey_foot")
    assert "accurate to 4 m" in system.shift_words()
