"""The check of the day: the last walk of the very day on the job counts, from its midnight to the next."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from conflicts.assess import assess
from conflicts.errors import ReleaseHeldError
from conflicts.models import Release
from conflicts.release import sign_release
from tests import factories

pytestmark = pytest.mark.django_db

ZONE = ZoneInfo("America/New_York")
MICROSECOND = timedelta(microseconds=1)


def local(day, hour=0, minute=0):
    return datetime(2026, 11, day, hour, minute, tzinfo=ZONE)


@pytest.fixture
def bore():
    """A bore to be drilled from November 10 to 11, of a job in New York's zone."""
    return factories.small_job().bores.get()


def walked(bore, at, **answers):
    factories.DailyWalkFactory(bore=bore, walked_at=at, **answers)


def of_the_day(bore, at):
    """The sentence where the check holds at a moment, else nothing."""
    check = next(one for one in assess(bore, at)["checks"] if one["code"] == "day")
    return check["sentence"] if check["holds"] else ""


def test_a_walk_counts_from_local_midnight_to_the_next(bore):
    walked(bore, local(10))
    assert of_the_day(bore, local(10)) == ""
    assert of_the_day(bore, local(11) - MICROSECOND) == ""
    assert "No walk of Wed Nov 11, 2026 is signed." in of_the_day(bore, local(11))


def test_a_walk_of_the_last_moment_of_yesterday_does_not_count(bore):
    walked(bore, local(10) - MICROSECOND)
    assert "No walk of Tue Nov 10, 2026 is signed." in of_the_day(bore, local(10))


def test_the_day_is_the_jobs_and_not_that_of_utc(bore):
    walked(bore, datetime(2026, 11, 10, 3, tzinfo=UTC))  # still the 9th in New York
    assert of_the_day(bore, local(9, 23)) == ""
    assert "No walk of Tue Nov 10" in of_the_day(bore, local(10, 8))
    walked(bore, local(10, 20))
    assert of_the_day(bore, datetime(2026, 11, 11, 2, tzinfo=UTC)) == ""


def test_on_the_night_that_the_clocks_change_it_counts_for_25_hours(bore):
    begins, ends = datetime(2026, 11, 1, 4, tzinfo=UTC), datetime(2026, 11, 2, 5, tzinfo=UTC)
    walked(bore, begins)
    assert of_the_day(bore, ends - MICROSECOND) == ""
    assert "No walk of Mon Nov 2" in of_the_day(bore, ends)


def test_a_walk_that_is_still_to_come_does_not_count(bore):
    walked(bore, local(10, 12))
    assert of_the_day(bore, local(10, 12) - MICROSECOND)
    assert of_the_day(bore, local(10, 12)) == ""


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ("marks_intact", "the marks were not all intact"),
        ("device_checked", "the locating device was not checked"),
        ("holes_open", "the test holes were not all open"),
    ],
)
def test_the_last_walk_of_the_day_counts_be_it_yes_or_no(bore, answer, words):
    walked(bore, local(10, 7))
    walked(bore, local(10, 9), **{answer: False})
    assert of_the_day(bore, local(10, 8)) == ""
    assert words in of_the_day(bore, local(10, 9))
    walked(bore, local(10, 10))
    assert of_the_day(bore, local(10, 10)) == ""
    assert words in of_the_day(bore, local(10, 10) - MICROSECOND)


def test_nothing_is_signed_on_the_walk_of_yesterday_or_of_another_bore(bore):
    walked(bore, local(9, 12))
    walked(factories.BoreFactory(job=bore.job), local(10, 8))
    at = local(10, 9)
    shift = {"shift_from": at, "shift_until": local(10, 15)}
    with pytest.raises(ReleaseHeldError, match="No walk of Tue Nov 10, 2026 is signed"):
        sign_release(
            Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory(), at=at
        )
    walked(bore, local(10, 8))
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory(), at=at)
    assert Release.objects.count() == 1
