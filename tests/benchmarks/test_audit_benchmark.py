"""The benchmark of the audit runs, small; what is summed up is counted, how long it takes it prints."""

import pytest

from tests.benchmarks.audit import RELEASES_A_BORE, compare


@pytest.mark.django_db
def test_the_page_that_is_measured_sums_up_every_release_and_every_watch():
    found = compare(bores=3, crossings=4, rounds=1)
    assert found.margins == 3 * 4 * (RELEASES_A_BORE + 3)
    assert 0 < found.drawn <= found.margins
    assert found.part_seconds.keys() >= {"releases", "margins", "unwatched", "excused"}
    assert found.ratio > 0.0
