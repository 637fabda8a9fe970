"""The benchmark of the rod log runs, small, and every crossing behind the head is assessed anew."""

import pytest

from tests.benchmarks.rod_log import measure


@pytest.mark.django_db
def test_what_was_drilled_is_assessed_anew_in_less_time_than_the_bores_page_takes():
    costs = measure(rods=20, crossings=4)
    assert costs.crossings >= 2
    assert costs.reassess_s < costs.bore_page_s
    # The rods before and the lines met ask for no statement of their own; the search about the hole is one.
    assert costs.statements <= 30
