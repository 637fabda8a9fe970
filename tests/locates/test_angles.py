"""Pitches and headings as people write them; a bare pitch, which may be percent or degrees, is refused."""

import math

import pytest

from locates.angles import format_heading, parse_heading_rad, parse_pitch_ratio
from locates.errors import GradeError, HeadingError


@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("-12.5 %", -0.125),
        ("45 deg", 1.0),
        ("-45\N{DEGREE SIGN}", -1.0),
        ("\N{MINUS SIGN}7.125 Degrees", -0.125),  # arctan 0.125 = 7.1250 degrees to four decimals, by hand
        ("0 deg", 0.0),
    ],
)
def test_a_pitch_is_read_in_percent_and_in_degrees(text, ratio):
    assert parse_pitch_ratio(text) == pytest.approx(ratio, abs=1e-6)


@pytest.mark.parametrize("text", ["", "-12", "12 ft", "5 deg %", "81 deg", "nan deg", "9" * 70 + " deg"])
def test_a_pitch_without_its_unit_or_too_steep_is_refused(text):
    with pytest.raises(GradeError, match="write it as"):
        parse_pitch_ratio(text)


@pytest.mark.parametrize(("text", "degrees"), [("92.5", 92.5), ("0 deg", 0), ("360\N{DEGREE SIGN}", 360)])
def test_a_heading_is_read_in_degrees(text, degrees):
    assert parse_heading_rad(text) == pytest.approx(math.radians(degrees))


@pytest.mark.parametrize("text", ["", "-5", "361", "N 5 E", "1.6 rad"])
def test_a_heading_off_the_compass_is_refused(text):
    with pytest.raises(HeadingError, match="clockwise from true north"):
        parse_heading_rad(text)


def test_a_heading_is_shown_as_it_is_read_back():
    assert format_heading(None) == ""
    assert format_heading(math.radians(359.999)) == "0.00\N{DEGREE SIGN}"
    assert parse_heading_rad(format_heading(math.radians(92.5))) == pytest.approx(math.radians(92.5))
