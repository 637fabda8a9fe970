"""What a file suggests of units and dates, and where it does not tell."""

import pytest

from locates.exchange.vector_suggestions import suggested_date_order, suggested_unit


@pytest.mark.parametrize(
    ("column", "unit"),
    [
        ("depth_ft", "foot"),
        ("Depth (m)", "m"),
        ("Depth [IN]", "inch"),
        ("top_usft", "us_survey_foot"),
        ("width mm", "mm"),
        ("depth", ""),
        ("shaft", ""),
        ("system", ""),
        ("m", ""),
    ],
)
def test_a_unit_is_suggested_by_the_end_of_a_columns_name(column, unit):
    assert suggested_unit(column) == unit


@pytest.mark.parametrize(
    ("texts", "order", "words"),
    [
        (["2026-11-05", "", "2026-11-06 10:00"], "", ""),
        (["11/05/2026", "11/23/2026 08:00"], "mdy", "11/23/2026 08:00 has a number above 12"),
        (["05.11.2026", "23.11.2026"], "dmy", "23.11.2026 has a number above 12"),
        (["11/05/2026", "10/06/2026"], "", "Is 11/05/2026 month first or day first?"),
        (["11/23/2026", "23/11/2026"], "", "not in one order"),
    ],
)
def test_only_a_number_above_twelve_tells_day_from_month(texts, order, words):
    found = suggested_date_order(texts)
    assert found.order == order
    assert found.words == "" if not words else words in found.words
