"""What comes next and in how many rods: a line alongside by where it begins; what is reached there."""

import pytest

from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import log_of, sheet_of
from tests.conflicts.ahead.test_pull_back_far_enough import drifting
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def alongside(bore):
    """A second line 2 m to the right of the bore from station 20 on, at its depth."""
    mark = factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=factories.line((20, -2.0), (100, -2.0))
    )
    for east in (25, 45, 65):
        factories.TestHoleFactory(
            job=bore.job, mark=mark, position=factories.point(east, -2.0), depth_to_top_m=1.9, dug_depth_m=4.0
        )
    return mark


def test_a_line_alongside_in_whose_zone_the_head_is_comes_before_one_that_is_crossed_later(bore, alongside):
    sheet = sheet_of(bore, drifting((-0.1,) * 6 + (0.0,) * 5, [0.0] * 6 + [0.1] * 5))
    assert sheet.rows[0].line.endswith(alongside.ref)
    assert sheet.rows[0].rods == "now"
    assert " to " in sheet.rows[0].where
    assert sheet.coming.large == f"{alongside.ref} now"
    assert "alongside from station" in sheet.coming.lines[0]


def test_what_can_be_reached_and_what_is_clear_are_told_where_the_line_is_missed(bore, alongside):
    sheet = sheet_of(bore, drifting((-0.1,) * 6 + (0.0,) * 5, [0.0] * 6 + [0.1] * 5))
    row = sheet.rows[0]
    # The head is in its zone: nothing can be steered before that.
    assert row.prospect == "No clear depth in reach"
    assert row.reach == "about 6 ft 6 in deep, no more to steer"
    assert row.clear == "under it from 10 ft 7 in down"


def test_one_rod_before_a_line_its_depth_is_told_and_that_nothing_is_left_to_steer(bore):
    told = []
    for rods in range(8, 12):
        sheet = sheet_of(bore, log_of(*(-0.1,) * 6, *(0.0,) * rods))
        told += [row.reach for row in sheet.rows if row.prospect == "Passed at this pitch"]
    assert "no depth for sure" not in told
    assert any("no more to steer" in one for one in told), told
