"""Grades as people write them: in percent, and refused without the sign that says so."""

import pytest

from locates.errors import GradeError
from locates.units import format_grade, parse_grade_ratio


@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("-12.5 %", -0.125),
        ("5%", 0.05),
        ("+1 percent", 0.01),
        ("\N{MINUS SIGN}0.1 %", -0.001),
        (" 0 % ", 0.0),
    ],
)
def test_a_percentage_is_read(text, ratio):
    assert parse_grade_ratio(text) == ratio


@pytest.mark.parametrize("text", ["5", "0.05", "", "5 %%", "1:100", "5,5 %", "nan %", "9" * 70 + " %"])
def test_anything_else_is_refused_with_an_example(text):
    with pytest.raises(GradeError, match=r"write it as -12.5 %"):
        parse_grade_ratio(text)


def test_what_is_shown_is_read_back():
    assert parse_grade_ratio(format_grade(-0.125)) == -0.125
