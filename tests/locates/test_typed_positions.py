"""Positions as people type and paste them: latitude first, a line each, a blank line between parts."""

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from locates.errors import PositionError
from locates.exchange import typed_positions
from locates.exchange.typed_positions import read_positions, write_positions


@pytest.mark.parametrize(
    "text",
    [
        "38.03, -78.48",
        "38.03 -78.48",
        "38.03; -78.48",
        "38.03 N, 78.48 W",
        "38.03\N{DEGREE SIGN} N 78.48\N{DEGREE SIGN} W",
        "38.03n,78.48w",
        "38.03, \N{MINUS SIGN}78.48",
    ],
)
def test_a_position_is_read_latitude_first(text):
    assert read_positions(text) == [[(-78.48, 38.03)]]


def test_blank_lines_stand_between_parts():
    text = "\n1, 2\n3, 4\n\n\n5, 6\n\n"
    assert read_positions(text) == [[(2, 1), (4, 3)], [(6, 5)]]


def test_nothing_is_no_part():
    assert read_positions(" \n ") == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("38.03, -78.48\n38.03", 'line 2: found "38.03"; accepted: latitude, then longitude'),
        ("-78.48, 38.03", "latitude -78.48, which looks like a longitude"),
        ("91, 10", "degrees on the globe"),
        ("45, 181", "degrees on the globe"),
        ("38.03, -78.48 W", "a sign or a letter, not both"),
        ("38\N{DEGREE SIGN} 1' 48\" N, 78 W", "latitude, then longitude"),
        ("nan, 1", "latitude, then longitude"),
        ("\n".join(["1, 2"] * 5001), "5000 positions at most"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line(text, words):
    with pytest.raises(PositionError) as refused:
        read_positions(text)
    assert words in str(refused.value)


degrees = st.tuples(st.floats(-179, 179), st.floats(-59, 89))


@given(st.lists(st.lists(degrees, min_size=1, max_size=4), min_size=1, max_size=3))
def test_what_is_written_is_read_back_to_the_millimetre(parts):
    again = read_positions(write_positions(parts))
    assert [len(part) for part in again] == [len(part) for part in parts]
    for part, same in zip(parts, again, strict=True):
        for position, other in zip(part, same, strict=True):
            assert position == pytest.approx(other, abs=5.1e-9)


def test_the_examples_in_the_module_are_true():
    assert doctest.testmod(typed_positions).failed == 0
