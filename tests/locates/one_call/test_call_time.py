"""A call that is still to come was not made; a clock that goes some minutes ahead is let pass."""

from datetime import UTC, datetime, timedelta

import pytest

from locates.one_call.call_time import call_accepted_instead

NOW = datetime(2026, 11, 10, 14, 0, tzinfo=UTC)
NEW_YORK = "America/New_York"


@pytest.mark.parametrize("ahead", [timedelta(days=-900), timedelta(0), timedelta(minutes=5)])
def test_a_call_up_to_now_and_five_minutes_more_is_taken(ahead):
    assert call_accepted_instead(NOW + ahead, NOW, NEW_YORK) == ""


@pytest.mark.parametrize("ahead", [timedelta(minutes=5, seconds=1), timedelta(days=1200)])
def test_a_call_later_than_that_is_told_what_is_accepted(ahead):
    assert call_accepted_instead(NOW + ahead, NOW, NEW_YORK) == (
        "the time at which the ticket was called in, not later than now, Tue Nov 10, 2026, 9:00 am EST"
    )
