"""The daily digest: one a person and local day, at the person's hour, across the changes of the clocks."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.utils import timezone

from locates.desk import make_digests as digests
from locates.desk.follow import follow_job, leave_off
from locates.desk.make_digests import make_digests
from locates.desk.make_notices import make_notices
from locates.desk.reckon_tickets import reckon_job
from locates.desk.send_mail import send_waiting
from locates.models import Follow, NoticeSetting, OutgoingMail
from locates.models.ticket_reckoning import reckon_jobs
from tests.factories import JobFactory, TicketFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def sends_mail(settings):
    settings.MAIL_SERVER, settings.MAIL_FROM = {}, "desk@crosswatch.example"


def follows_since(person, moment: datetime, **job) -> None:
    """The person follows a job since a moment, and has had no digest since then."""
    follow_job(JobFactory(**job), by=person, at=moment)


def days(begin: datetime, count: int, step: timedelta = timedelta(minutes=30)) -> list[tuple[str, date]]:
    """When digests are made, in UTC, and for which day, if somebody looks every so often."""
    found = []
    for index in range(count):
        at = begin + index * step
        if digests._make_some(at):
            found.append((f"{at:%m-%d %H:%M}", NoticeSetting.objects.get().digest_on))
    return found


# The clocks of New York change on March 8 and November 1, 2026, at 2:00 am (15 U.S.C. 260a).
def test_an_hour_that_is_left_out_in_spring_has_come_with_the_next(ann):
    follows_since(ann, datetime(2026, 3, 6, 12, tzinfo=UTC), time_zone="America/New_York")
    NoticeSetting.objects.update(digest_hour=2)
    assert days(datetime(2026, 3, 7, 0, 0, tzinfo=UTC), 48 * 3) == [
        ("03-07 07:00", date(2026, 3, 7)),
        ("03-08 07:00", date(2026, 3, 8)),  # 3:00 am of summer time, the minute after 1:59 am
        ("03-09 06:00", date(2026, 3, 9)),
    ]


def test_an_hour_that_comes_twice_in_autumn_brings_one_digest(ann):
    follows_since(ann, datetime(2026, 10, 30, 12, tzinfo=UTC), time_zone="America/New_York")
    NoticeSetting.objects.update(digest_hour=1)
    assert days(datetime(2026, 10, 31, 0, 0, tzinfo=UTC), 48 * 3) == [
        ("10-31 05:00", date(2026, 10, 31)),
        ("11-01 05:00", date(2026, 11, 1)),  # the first 1:00 am; the second is at 06:00
        ("11-02 06:00", date(2026, 11, 2)),
    ]


def test_the_hour_is_that_of_the_chosen_zone_before_that_of_the_job(ann):
    follows_since(ann, datetime(2026, 6, 1, 12, tzinfo=UTC), time_zone="America/New_York")
    NoticeSetting.objects.update(time_zone="America/Los_Angeles")
    assert days(datetime(2026, 6, 2, 0, 0, tzinfo=UTC), 48)[-1] == ("06-02 13:00", date(2026, 6, 2))


def test_who_moves_west_gets_no_second_digest_of_the_same_day(ann):
    follows_since(ann, datetime(2026, 6, 1, 12, tzinfo=UTC), time_zone="Asia/Tokyo")
    assert days(datetime(2026, 6, 1, 15, 0, tzinfo=UTC), 14) == [("06-01 21:00", date(2026, 6, 2))]
    NoticeSetting.objects.update(time_zone="Pacific/Honolulu")
    assert days(datetime(2026, 6, 1, 22, 0, tzinfo=UTC), 60) == []
    assert days(datetime(2026, 6, 3, 4, 0, tzinfo=UTC), 48)[0][1] == date(2026, 6, 3)


def test_a_missed_morning_is_caught_up_the_same_day_and_a_missed_day_is_not_sent_late(ann):
    follows_since(ann, datetime(2026, 6, 1, 12, tzinfo=UTC))
    assert days(datetime(2026, 6, 4, 20, 0, tzinfo=UTC), 4) == [("06-04 20:00", date(2026, 6, 4))]
    assert OutgoingMail.objects.count() == 1


def test_the_first_digest_is_that_of_the_day_after_the_first_follow(ann):
    follows_since(ann, datetime(2026, 6, 1, 4, 30, tzinfo=UTC))
    assert days(datetime(2026, 6, 1, 4, 30, tzinfo=UTC), 60) == [("06-02 10:00", date(2026, 6, 2))]


@pytest.mark.parametrize("change", ["nothing followed", "no digest wanted", "no address", "no role", "gone"])
def test_no_digest_goes_to_who_wants_or_may_have_none(ann, change):
    follows_since(ann, datetime(2026, 6, 1, 12, tzinfo=UTC))
    if change == "nothing followed":
        leave_off(Follow.objects.values_list("pk", flat=True), by=ann)
    elif change == "no digest wanted":
        NoticeSetting.objects.update(digest_by_mail=False)
    elif change == "no role":
        ann.groups.clear()
    else:
        changed = {"email": ""} if change == "no address" else {"is_active": False}
        type(ann).objects.filter(pk=ann.pk).update(**changed)
    digests._make_some(datetime(2026, 6, 3, 12, tzinfo=UTC))
    assert not OutgoingMail.objects.exists()


def test_without_a_mail_server_no_day_is_spent(ann, settings):
    settings.MAIL_SERVER = None
    follows_since(ann, datetime(2026, 6, 1, 12, tzinfo=UTC))
    assert make_digests() == 0
    assert NoticeSetting.objects.get().digest_on == date(2026, 6, 1)


def test_a_digest_says_what_the_tickets_ask_for_and_what_was_told(ann, expired):
    reckon_job(expired.job_id)
    make_notices()
    NoticeSetting.objects.update(digest_hour=0)
    assert make_digests() == 1
    mail = OutgoingMail.objects.get(kind="digest")
    body = " ".join(mail.body.split())
    assert "Ticket T-77, Alder Street: expired, " in body
    assert "Stop digging in its work area" in body
    assert mail.subject.endswith(": 1 to do")
    assert "Nothing here is a release to drill." in body
    assert make_digests() == 0


def test_a_day_without_anything_to_do_is_said_too(ann):
    follows_since(ann, datetime(2026, 6, 1, 12, tzinfo=UTC))
    digests._make_some(datetime(2026, 6, 3, 12, tzinfo=UTC))
    mail = OutgoingMail.objects.get()
    assert mail.subject == "Tickets that you follow, Wed Jun 3, 2026: nothing to do"
    assert "Nothing that you follow asks for somebody now, as far as the records tell." in mail.body


def test_a_long_digest_says_how_much_it_leaves_out(ann, monkeypatch):
    monkeypatch.setattr(digests, "MOST_LINES", 2)
    at = datetime(2026, 6, 3, 12, tzinfo=UTC)
    follows_since(ann, datetime(2026, 6, 1, 12, tzinfo=UTC))
    job = Follow.objects.get().job
    for number in ("T-1", "T-2", "T-3"):
        TicketFactory(
            job=job,
            number=number,
            called_at=at - timedelta(days=9),
            legal_start_at=at - timedelta(days=6),
            expires_at=at - timedelta(hours=1),
        )
    reckon_jobs([job.pk], at)
    digests._make_some(at)
    mail = OutgoingMail.objects.get()
    assert "- and 1 more on the site" in mail.body
    assert mail.subject.endswith(": 3 to do")


def test_the_digest_arrives(ann, expired, mail_server):
    reckon_job(expired.job_id)
    NoticeSetting.objects.update(digest_hour=0)
    make_digests()
    assert send_waiting() == 1
    [message] = mail_server.messages()
    assert message["Subject"] == OutgoingMail.objects.get().subject
    assert "https://locates.example/notices/settings/" in message.get_content()


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_two_who_make_digests_at_once_make_one(ann):
    follows_since(ann, timezone.now() - timedelta(days=3))
    NoticeSetting.objects.update(digest_hour=0)

    def run(_: int) -> int:
        try:
            return make_digests()
        finally:
            connection.close()

    with ThreadPoolExecutor(3) as pool:
        assert sum(pool.map(run, range(3))) == 1
    assert OutgoingMail.objects.count() == 1
