"""A length as a term of a sum."""

import math

import pytest

from locates.units import format_worked


@pytest.mark.parametrize(
    ("length_m", "show_units", "shown"),
    [
        (1.23825, "feet", "48.75 in"),
        (-0.0254, "feet", "\N{MINUS SIGN}1.00 in"),
        (0.00001, "feet", "0.00 in"),
        (-0.00001, "feet", "0.00 in"),
        (1.23814, "metric", "1.2381 m"),
        (-0.00001, "metric", "0.0000 m"),
        (None, "feet", "unknown"),
        (math.nan, "metric", "unknown"),
    ],
)
def test_a_term_has_hundredths_of_an_inch_or_tenths_of_a_millimetre(length_m, show_units, shown):
    assert format_worked(length_m, show_units) == shown
