"""The benchmark of changes by hand runs, small, and asks the database no more for more lines."""

import pytest

from tests.benchmarks.profile_by_hand import compare


@pytest.mark.django_db
def test_every_line_and_rod_is_told_without_reading_the_records_again():
    few, many = compare(3, 12), compare(12, 40)
    assert (few.lines, few.rods) == (3, 12)
    assert (many.lines, many.rods) == (12, 40)
    assert many.change_queries == few.change_queries
    # Who asks, whose the bore is, the bore, and the last change: none of the records that figures rest on.
    assert many.change_queries < 12
    assert many.ratio > 0.0
