"""Feet and inches: what people write is read exactly, and what is shown never flatters a clearance."""

import doctest
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from locates import units
from locates.errors import LengthError


def length_or_refusal(text):
    try:
        return units.parse_length_m(text)
    except LengthError as refused:
        return refused


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("14", "14 in"),
        ("13 1/2", "13 1/2 in"),
        (".5", ".5 in"),
        ("-3", "-3 in"),
        ("\u00bd", "\u00bd in"),
        ("14\u00bd", "14\u00bd in"),
        ("13 1\u20442", "13 1\u20442 in"),
        ("\u22123", "\u22123 in"),
        ("14 cm", "14 cm"),
        ("1' 2\"", "1' 2\""),
        ("1,5", "1,5"),
        ("a foot", "a foot"),
    ],
)
def test_a_unit_beside_a_number_is_that_of_one_without_any(text, read):
    assert units.with_unit(text, "in") == read


def test_a_half_as_a_phone_writes_it_is_read_with_the_unit_beside_it():
    assert units.parse_length_m(units.with_unit("14\u00bd", "in")) == pytest.approx(14.5 * 0.0254)


def test_a_number_with_no_unit_anywhere_stays_as_it_is():
    assert units.with_unit("14", "") == "14"


lengths_m = st.floats(-2000, 2000, allow_nan=False)


@pytest.mark.parametrize(
    ("text", "length_m"),
    [
        ("4'7\"", 1.397),
        ("4 ft 7 in", 1.397),
        ("4 ft. 7 in.", 1.397),
        ("4'-7\"", 1.397),
        ("4 feet 7 inches", 1.397),
        ("4.58 ft", 1.395984),
        ("55 in", 1.397),
        ('55"', 1.397),
        ("55''", 1.397),
        ("1.40 m", 1.4),
        ("140 cm", 1.4),
        ("1400 mm", 1.4),
        ("1400mm", 1.4),
        ("4' 7 1/2\"", 1.4097),
        ("4\u2032 7\u00bd\u2033", 1.4097),
        ("4\u2019 7\u201d", 1.397),
        ("7-1/2 in", 0.1905),
        ("\u00bd in", 0.0127),
        ("1/8 in", 0.003175),
        ("4 1/2 ft", 1.3716),
        (".5 m", 0.5),
        ("  4 FT  7 IN ", 1.397),
        ("1\u00a0m", 1.0),
        ("-4'7\"", -1.397),
        ("\u22121.5 m", -1.5),
        ("+1.5 m", 1.5),
        ("0 in", 0.0),
        ("1 metre", 1.0),
        ("1000000 ft", 304800.0),
        # 1e6 ft of survey measure is 0.6096 m longer: NOAA bulletin 2a305f9, 85 FR 62698
        ("1000000 US survey feet", 304800.6096012192),
        ("1000000 usft", 304800.6096012192),
    ],
)
def test_what_people_write_is_read_to_the_nearest_double(text, length_m):
    assert units.parse_length_m(text) == length_m


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("55", "unit is missing"),
        ("0", "unit is missing"),
        ("4.58", "unit is missing"),
        ("7 1/2", "unit is missing"),
        ("4'13\"", "below 12"),
        ("4'12\"", "below 12"),
        ("4.5' 7\"", "two things"),
        ("4,5 m", "comma"),
        ("1,250 m", "comma"),
        ("7 3/2 in", "not a part"),
        ("1/0 in", "not a part"),
        ("0/4 in", "not a part"),
        ("", "empty"),
        ("-", "empty"),
        ("4'7", "write it as"),
        ("--4 m", "write it as"),
        ("5e3 m", "write it as"),
        ("nan m", "write it as"),
        ("\u0664 m", "write it as"),
        ("1 m 40 cm", "write it as"),
        ("4 yd", "write it as"),
        ("4'7\" deep", "write it as"),
        ("9" * 100 + " m", "too long"),
    ],
)
def test_what_is_ambiguous_is_refused_with_an_example(text, reason):
    with pytest.raises(LengthError) as refused:
        units.parse_length_m(text)
    assert reason in str(refused.value)
    assert "4 ft 7 in" in str(refused.value)
    assert isinstance(refused.value, ValueError)


@pytest.mark.parametrize(
    ("length_m", "nearest", "down", "up"),
    [
        (1.397, "4 ft 7 in", "4 ft 7 in", "4 ft 7 in"),
        (1.4, "4 ft 7 1/8 in", "4 ft 7 in", "4 ft 7 1/8 in"),
        (0.3048, "1 ft 0 in", "1 ft 0 in", "1 ft 0 in"),
        (0.3047, "1 ft 0 in", "11 7/8 in", "1 ft 0 in"),
        (0.3049, "1 ft 0 in", "1 ft 0 in", "1 ft 0 1/8 in"),
        (0.003175, "1/8 in", "1/8 in", "1/8 in"),
        (0.0, "0 in", "0 in", "0 in"),
        (-0.0, "0 in", "0 in", "0 in"),
        (-0.0005, "0 in", "\N{MINUS SIGN}1/8 in", "0 in"),
        (-1.397, "\N{MINUS SIGN}4 ft 7 in", "\N{MINUS SIGN}4 ft 7 in", "\N{MINUS SIGN}4 ft 7 in"),
        (-0.1, "\N{MINUS SIGN}3 7/8 in", "\N{MINUS SIGN}4 in", "\N{MINUS SIGN}3 7/8 in"),
    ],
)
def test_a_length_is_shown_in_feet_and_inches_to_an_eighth(length_m, nearest, down, up):
    assert units.format_feet_inches(length_m) == nearest
    assert units.format_feet_inches(length_m, rounded="down") == down
    assert units.format_length(length_m, "feet", rounded="up") == up


@pytest.mark.parametrize(
    ("length_m", "nearest", "down"),
    [
        (1.397, "1.397 m", "1.397 m"),
        (0.3049999, "0.305 m", "0.304 m"),
        (0.305, "0.305 m", "0.305 m"),
        (-0.0001, "0.000 m", "\N{MINUS SIGN}0.001 m"),
    ],
)
def test_a_length_is_shown_in_metres_to_a_millimetre(length_m, nearest, down):
    assert units.format_length(length_m, "metric") == nearest
    assert units.format_length(length_m, "metric", rounded="down") == down


@pytest.mark.parametrize("unknown", [None, math.nan])
def test_an_unknown_is_said_to_be_unknown_and_never_zero(unknown):
    shown = {
        units.format_feet_inches(unknown),
        units.format_length(unknown, "feet"),
        units.format_length(unknown, "metric"),
        units.format_station(unknown, "feet"),
        units.format_grade(unknown),
    }
    assert shown == {"unknown"}


@pytest.mark.parametrize(
    ("station_m", "feet", "metric"),
    [
        (0.0, "0+00.0", "0+000.0"),
        (44.25696, "1+45.2", "0+044.3"),
        (30.48, "1+00.0", "0+030.5"),
        (30.47999, "1+00.0", "0+030.5"),
        (999.99, "32+80.8", "1+000.0"),
        (-3.048, "\N{MINUS SIGN}0+10.0", "\N{MINUS SIGN}0+003.0"),
    ],
)
def test_a_station_is_shown_in_hundreds_of_feet_or_in_kilometres(station_m, feet, metric):
    assert units.format_station(station_m, "feet") == feet
    assert units.format_station(station_m, "metric") == metric


def test_a_grade_is_shown_in_percent():
    assert [units.format_grade(ratio) for ratio in (-0.125, 0.0, 0.2679, -1e-6)] == [
        "\N{MINUS SIGN}12.5 %",
        "0.0 %",
        "26.8 %",
        "0.0 %",
    ]


def test_both_feet_have_their_published_lengths():
    assert units.METRES_PER_FOOT == 0.3048  # 24 FR 5348
    assert units.METRES_PER_INCH == 0.0254
    survey_m = units.METRES_PER_US_SURVEY_FOOT
    assert survey_m == pytest.approx(0.304800609601219, abs=5e-16)  # 85 FR 62698


@given(lengths_m)
def test_what_is_shown_reads_back_within_half_an_eighth(length_m):
    shown_m = units.parse_length_m(units.format_feet_inches(length_m))
    assert shown_m == pytest.approx(length_m, abs=0.0254 / 16 + 2e-9)


@given(lengths_m)
def test_a_metric_length_reads_back_within_half_a_millimetre(length_m):
    shown_m = units.parse_length_m(units.format_length(length_m, "metric"))
    assert shown_m == pytest.approx(length_m, abs=0.0005 + 2e-9)


@given(lengths_m, st.sampled_from(["feet", "metric"]))
def test_rounding_down_never_shows_more_than_there_is(length_m, show_units):
    shown_m = units.parse_length_m(units.format_length(length_m, show_units, rounded="down"))
    assert length_m - 0.0254 / 8 < shown_m <= length_m + 2e-9


@given(lengths_m, lengths_m, st.sampled_from(["feet", "metric"]))
def test_a_shortfall_beyond_a_nanometre_never_reads_as_enough(worst_case_m, required_m, show_units):
    """A clearance rounded down and its requirement rounded up: what is short never looks longer."""
    shown_m = units.parse_length_m(units.format_length(worst_case_m, show_units, rounded="down"))
    needed_m = units.parse_length_m(units.format_length(required_m, show_units, rounded="up"))
    assert worst_case_m >= required_m - 4e-9 or shown_m < needed_m + 4e-9


@given(st.integers(0, 500), st.integers(0, 95))
def test_every_eighth_of_an_inch_is_read_as_it_is_shown(feet, eighths):
    length_m = units.parse_length_m(f"{feet}' {eighths // 8} {eighths % 8}/8\"") if eighths % 8 else None
    if length_m is None:
        length_m = units.parse_length_m(f"{feet}' {eighths // 8}\"")
    assert length_m == pytest.approx(feet * 0.3048 + eighths * 0.003175, rel=1e-15)
    for rounded in ("nearest", "down", "up"):
        shown = units.format_feet_inches(length_m, rounded=rounded)
        assert units.parse_length_m(shown) == length_m


@given(st.text(max_size=40))
def test_any_text_is_a_length_or_refused(text):
    outcome = length_or_refusal(text)
    assert isinstance(outcome, LengthError) or math.isfinite(outcome)


def test_the_examples_in_the_docstrings_hold():
    assert doctest.testmod(units).failed == 0
