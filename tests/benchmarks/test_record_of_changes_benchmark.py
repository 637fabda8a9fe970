"""The benchmark of the record of changes runs, small; what is kept is counted, what it costs it prints."""

import pytest

from tests.benchmarks.record_of_changes import SAVES, compare


@pytest.mark.django_db
def test_each_row_brought_and_each_save_is_an_event():
    found = compare(100)
    assert found.bulk_import.events == 100
    assert found.saves.events == SAVES
    assert found.bulk_import.ratio > 0.0
