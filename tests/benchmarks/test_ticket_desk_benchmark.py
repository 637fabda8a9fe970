"""The benchmark of the ticket desk runs, small; what it reads is counted, how long it takes it prints."""

import pytest

from tests.benchmarks.ticket_desk import compare

COUNT = 2000


@pytest.mark.django_db
def test_the_sweep_takes_every_ticket_once_and_a_page_reads_no_more_than_a_page():
    found = compare(COUNT)
    # The last ticket was called in at the moment up to which the second sweep goes, and not the first.
    assert found.first.tickets >= COUNT - 1
    assert 0 < found.night.tickets < COUNT
    assert (found.idle.tickets, found.idle.changes) == (0, 0)
    assert found.matters.rows > 0
    assert found.tickets.rows == 51
    assert found.coverage.rows > 0
