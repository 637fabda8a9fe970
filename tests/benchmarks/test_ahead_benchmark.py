"""The benchmark of the sheet for the rig runs, small, and measures a bore that may be drilled on."""

import pytest

from tests.benchmarks.ahead import measure


@pytest.mark.django_db
def test_the_sheet_for_the_rig_is_asked_for_with_every_line_ahead_and_reads_the_records_once():
    costs = measure(rods=6, crossings=4)
    assert (costs.crossings, costs.advice) == (4, "go_on")
    # The records are read in some 30 queries: read twice, there would be half as many more.
    assert costs.queries < 50
