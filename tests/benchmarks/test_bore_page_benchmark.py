"""The benchmark of the bore page runs, small, and both sides show the same crossings."""

import pytest

from tests.benchmarks.bore_page import compare


@pytest.mark.django_db
def test_page_drawing_and_document_show_the_same_crossings_and_stay_small():
    few, many = compare(3), compare(12)
    assert (few.page_crossings, few.drawn_crossings, few.json_crossings) == (3, 3, 3)
    assert (many.page_crossings, many.drawn_crossings, many.json_crossings) == (12, 12, 12)
    assert many.page_queries == few.page_queries
    # 300 kB is what a page's first load may weigh; 40 crossings weigh under 4 times as much as 12.
    assert 4 * many.page_packed_bytes < 150_000
