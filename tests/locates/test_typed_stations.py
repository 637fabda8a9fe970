"""Stations and offsets as people type them, in the units of their job."""

import pytest

from locates.errors import LengthError, PositionError
from locates.exchange.typed_stations import read_stations
from locates.units import format_station, parse_station_m


@pytest.mark.parametrize(
    ("text", "units", "metres"),
    [
        ("1+45.2", "feet", 44.25696),
        ("0+00", "feet", 0.0),
        ("12+07", "feet", 367.8936),
        ("145.2 ft", "feet", 44.25696),
        ("44.3 m", "feet", 44.3),
        ("0+044.3", "metric", 44.3),
        ("1+002", "metric", 1002.0),
        ("145.2 ft", "metric", 44.25696),
        ("0", "metric", 0.0),
    ],
)
def test_a_station_is_read_in_the_units_of_the_job_and_a_length_in_its_own(text, units, metres):
    assert parse_station_m(text, units) == pytest.approx(metres, abs=1e-12)


@pytest.mark.parametrize("units", ["feet", "metric"])
@pytest.mark.parametrize("station_m", [0.0, 3.048, 44.3, 299.9])
def test_a_station_that_was_written_is_read_back_to_its_last_digit_shown(units, station_m):
    half_a_tenth_m = 0.05 * (0.3048 if units == "feet" else 1.0)
    shown = format_station(station_m, units)
    assert parse_station_m(shown, units) == pytest.approx(station_m, abs=half_a_tenth_m + 1e-9)


@pytest.mark.parametrize(
    ("text", "units"),
    [("0+044.3", "feet"), ("1+45.2", "metric"), ("145.2", "feet"), ("44.3", "metric"), ("1+5", "feet")],
)
def test_a_station_of_the_other_unit_or_of_none_is_refused_with_an_example(text, units):
    with pytest.raises(LengthError, match="a length with its unit such as"):
        parse_station_m(text, units)


def test_places_are_a_station_and_a_side_with_its_offset_a_line():
    text = "1+45.2 R 3 ft\n\n1+50, left, 2'6\"\n 2+00 \n2+10 l 1 m"
    places = read_stations(text, "feet")
    assert [line for line, _ in places] == [1, 3, 4, 5]
    stations_m, offsets_m = zip(*(place for _, place in places), strict=True)
    assert stations_m == pytest.approx((44.25696, 45.72, 60.96, 64.008))
    assert offsets_m == pytest.approx((0.9144, -0.762, 0.0, -1.0))


@pytest.mark.parametrize(
    "line", ["1+45.2 3 ft", "1+45.2 R", "R 3 ft", "1+45.2 R 3", "1+45.2 R -3 ft", "1+45.2 X 3 ft", "abc"]
)
def test_a_line_without_one_reading_is_refused_by_its_number(line):
    with pytest.raises(PositionError, match="line 2: found"):
        read_stations(f"1+00\n{line}", "feet")


def test_a_text_of_endless_lines_is_refused():
    with pytest.raises(PositionError, match="5000 places at most"):
        read_stations("1+00\n" * 5001, "feet")
