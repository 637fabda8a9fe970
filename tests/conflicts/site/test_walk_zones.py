"""A walk counts for its day in the zone in which it was signed, whatever becomes of the job's zone."""

from datetime import UTC, datetime

import pytest

from conflicts.assess import assess
from conflicts.desk.sign_walk import sign_walk
from conflicts.desk.walk_sheet import walk_of_today, walk_sheet
from conflicts.models import DailyWalk
from locates.models import RecordEvent
from tests import factories

pytestmark = pytest.mark.django_db

NEW_YORK, HONOLULU, AUCKLAND = "America/New_York", "Pacific/Honolulu", "Pacific/Auckland"
# 8 in the evening of November 9 in New York, and 2 in the afternoon of it in Honolulu.
WALKED_AT = datetime(2026, 11, 10, 1, tzinfo=UTC)
SAME_DAY_AT = datetime(2026, 11, 10, 4, 59, tzinfo=UTC)
# 1 in the night of November 10 in New York, and still the 9th in Honolulu.
NEXT_DAY_AT = datetime(2026, 11, 10, 6, tzinfo=UTC)
ANSWERS = {"marks_intact": True, "device_checked": True, "device": "receiver 7", "holes_open": True}


@pytest.fixture
def bore():
    return factories.small_job(time_zone=NEW_YORK).bores.get()


def signed_walk(bore, at=WALKED_AT, **answers):
    walk = DailyWalk(bore=bore, **ANSWERS | answers)
    return sign_walk(walk, by=factories.PersonFactory(), at=at)


def move_to(bore, zone):
    bore.job.time_zone = zone
    bore.job.save()


def of_the_day(bore, at):
    """The sentence where the check holds at a moment, else nothing."""
    check = next(one for one in assess(bore, at)["checks"] if one["code"] == "day")
    return check["sentence"] if check["holds"] else ""


def test_a_walk_keeps_the_zone_in_which_it_is_signed_and_its_signature_stands_for_it(bore):
    walk = signed_walk(bore)
    assert walk.time_zone == NEW_YORK
    assert walk.ledger_content()["time_zone"] == NEW_YORK
    assert "time_zone" not in factories.DailyWalkFactory(bore=bore, time_zone="").ledger_content()


def test_yesterdays_walk_is_none_of_today_after_the_jobs_zone_is_changed(bore):
    walk = signed_walk(bore)
    move_to(bore, HONOLULU)
    words = of_the_day(bore, NEXT_DAY_AT)
    assert "the day for which that was signed is over" in words
    assert "No walk of Mon Nov 9, 2026 is signed. Walk the bore" in words
    assert walk_of_today(bore, NEXT_DAY_AT) is None
    # While the day lasts in both it counts.
    assert of_the_day(bore, SAME_DAY_AT) == ""
    assert walk_of_today(bore, SAME_DAY_AT) == walk


def test_a_walk_of_today_where_it_was_signed_has_to_be_of_today_on_the_job_too(bore):
    signed_walk(bore, at=datetime(2026, 11, 10, 10, 30, tzinfo=UTC))
    at = datetime(2026, 11, 10, 11, 30, tzinfo=UTC)
    assert of_the_day(bore, at) == ""
    # Midnight of Auckland, thirteen hours ahead in November, lies between the walk and the moment.
    move_to(bore, AUCKLAND)
    assert "No walk of Wed Nov 11, 2026 is signed." in of_the_day(bore, at)


def test_a_later_walk_that_does_not_count_leaves_no_earlier_one_in_its_place(bore):
    signed_walk(bore, at=datetime(2026, 11, 10, 10, 30, tzinfo=UTC))
    move_to(bore, AUCKLAND)
    signed_walk(bore, at=datetime(2026, 11, 10, 10, 45, tzinfo=UTC), marks_intact=False)
    move_to(bore, NEW_YORK)
    assert "No walk of Tue Nov 10, 2026 is signed." in of_the_day(
        bore, datetime(2026, 11, 10, 11, 30, tzinfo=UTC)
    )


def test_a_walk_that_keeps_no_zone_counts_until_the_jobs_was_changed():
    now = datetime.now(UTC)
    bore = factories.small_job(time_zone="UTC").bores.get()
    # Its zone was changed and changed back: what the day of the walk was is known no more.
    walk = factories.DailyWalkFactory(bore=bore, time_zone="", walked_at=now)
    assert of_the_day(bore, now) == ""
    assert walk_of_today(bore, now) == walk
    move_to(bore, "Etc/GMT+1")
    move_to(bore, "UTC")
    [changes] = RecordEvent.objects.zone_changes([bore.job_id]).values()
    assert len(changes) == 2
    words = of_the_day(bore, changes[-1])
    assert "The job's time zone was changed since the walk" in words
    assert ", and it does not keep the zone in which it was signed. No walk of" in words
    assert walk_of_today(bore, changes[-1]) is None
    # As of then it counted.
    assert of_the_day(bore, now) == ""


def test_another_change_of_the_job_is_none_of_its_zone(bore):
    bore.job.name = "Renamed"
    bore.job.save()
    assert RecordEvent.objects.zone_changes([bore.job_id]) == {}


def test_walks_are_listed_by_the_day_for_which_they_were_signed(bore):
    signed_walk(bore)
    move_to(bore, AUCKLAND)
    [day] = walk_sheet(bore, NEXT_DAY_AT, None).days
    assert day.day.isoformat() == "2026-11-09"
