"""The reference that a new record is offered."""

import pytest

from locates.desk.next_reference import next_reference


@pytest.mark.parametrize(
    ("there", "offered"),
    [
        ([], "TH-1"),
        (["by the oak", ""], "TH-1"),
        (["TH-2", "TH-10", "TH-9"], "TH-11"),
        (["H007", "H03"], "H008"),
        (["H99"], "H100"),
        (["12"], "13"),
        (["TH-4 (north)"], "TH-1"),
    ],
)
def test_it_counts_on_from_the_highest_number_in_its_own_way_of_writing(there, offered):
    assert next_reference(there, "TH-1") == offered
