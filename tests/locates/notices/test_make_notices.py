"""Notices: each thing told once to each person who follows it, whoever makes them and how often."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.utils import timezone

from locates.desk.follow import follow_job, follow_tickets, leave_off
from locates.desk.make_notices import make_notices
from locates.desk.reckon_tickets import reckon_job
from locates.models import Follow, Notice, OutgoingMail
from locates.models.notice_making import make_notices_at
from locates.models.ticket_reckoning import reckon_jobs
from tests.database_sessions import other_session
from tests.factories import (
    FacilityOperatorFactory,
    FollowFactory,
    MarkFactory,
    NoticeSettingFactory,
    PersonFactory,
    ResponseFactory,
    TicketFactory,
    person_in_role,
    stand_aside,
)

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
CALLED = datetime(2026, 11, 2, 14, 0, tzinfo=UTC)
START = datetime(2026, 11, 5, 12, 0, tzinfo=UTC)
END = datetime(2026, 11, 30, 12, 0, tzinfo=UTC)


def ticket(**values):
    """A ticket with one operator, who has answered unless told otherwise."""
    answer = values.pop("answer", "marked")
    made = TicketFactory(**{"called_at": CALLED, "legal_start_at": START, "expires_at": END} | values)
    ResponseFactory(ticket=made, operator=FacilityOperatorFactory(job=made.job), response=answer)
    return made


def follow(person, *tickets):
    for one in tickets:
        FollowFactory(person=person, ticket=one)


def told_at(at: datetime, *tickets) -> list[str]:
    """Events of the notices that are made new at a moment, the tickets being reckoned for it."""
    before = set(Notice.objects.values_list("pk", flat=True))
    reckon_jobs({one.job_id for one in tickets}, at)
    count = make_notices_at(at)
    made = Notice.objects.exclude(pk__in=before)
    assert made.count() == count
    return sorted(made.values_list("event", flat=True))


def test_the_life_of_a_ticket_is_told_step_by_step_and_each_step_once(ann):
    one = ticket(
        answer="awaiting",
        response_due_at=START - HOUR,
        renew_by=datetime(2026, 11, 26, 21, 0, tzinfo=UTC),
        job__time_zone="America/New_York",
    )
    follow(ann, one)
    told = {}
    moments = {
        "before the deadline": START - 2 * HOUR,
        "at the deadline": START - HOUR,
        "at the start": START,
        "later": START + 24 * HOUR,
        # The day of the renewal has begun in New York at 05:00 of UTC, and not a minute earlier.
        "the night before the renewal": datetime(2026, 11, 26, 4, 59, tzinfo=UTC),
        "the day of the renewal": datetime(2026, 11, 26, 5, 0, tzinfo=UTC),
        "49 hours before the end": END - 49 * HOUR,
        "48 hours before the end": END - 48 * HOUR,
        "at the end": END,
        "long after": END + 1000 * HOUR,
    }
    for name, moment in moments.items():
        told[name] = told_at(moment, one) + told_at(moment, one)
    assert told == {
        "before the deadline": [],
        "at the deadline": ["answer_overdue"],
        "at the start": ["starts_unanswered"],
        "later": [],
        "the night before the renewal": [],
        "the day of the renewal": ["renewal_due"],
        "49 hours before the end": [],
        "48 hours before the end": ["expires_soon"],
        "at the end": ["expired"],
        "long after": [],
    }


def test_a_ticket_with_every_answer_reaches_its_start_without_a_word(ann):
    one = ticket()
    follow(ann, one)
    assert told_at(START, one) == []


def test_a_start_reached_with_no_operator_named_is_told(ann):
    one = TicketFactory(called_at=CALLED, legal_start_at=START, expires_at=END)
    follow(ann, one)
    assert told_at(START, one) == ["starts_unanswered"]


def test_a_finished_or_renewed_ticket_runs_out_without_a_word(ann):
    finished = ticket(work_finished_at=END - 24 * HOUR)
    renewed = ticket(number="OLD")
    ticket(
        job=renewed.job,
        previous_number="OLD",
        called_at=END - 99 * HOUR,
        legal_start_at=END - 50 * HOUR,
        expires_at=END + 500 * HOUR,
    )
    follow(ann, finished, renewed)
    assert told_at(END + HOUR, finished, renewed) == []


def test_a_date_that_is_changed_falls_due_anew(ann):
    one = ticket()
    follow(ann, one)
    assert told_at(END, one) == ["expired"]
    type(one).objects.filter(pk=one.pk).update(expires_at=END + 24 * HOUR)
    assert told_at(END + HOUR, one) == ["expires_soon"]
    assert told_at(END + 24 * HOUR, one) == ["expired"]


def test_everybody_who_follows_is_told_once_even_by_two_ways(ann):
    one = ticket()
    follow(ann, one)
    follow_job(one.job, by=ann, at=CALLED)
    Follow.objects.update(since=CALLED)
    bob, gone = person_in_role("Foreman"), PersonFactory(is_active=False)
    follow(bob, one)
    follow(gone, one)
    assert told_at(END, one) == ["expired", "expired"]
    assert set(Notice.objects.values_list("person", flat=True)) == {ann.pk, bob.pk}


def test_who_follows_a_job_is_told_of_what_falls_due_or_is_changed_after(ann):
    old, new = ticket(expires_at=END), ticket(expires_at=END + 2 * HOUR)
    new.job = old.job
    new.save()
    type(old).objects.update(edited_at=CALLED)
    follow_job(old.job, by=ann, at=END)
    Follow.objects.update(since=END + HOUR)
    assert told_at(END + 2 * HOUR, old) == ["expired"]
    assert Notice.objects.get().ticket == new
    type(old).objects.filter(pk=old.pk).update(edited_at=END + 3 * HOUR)
    assert told_at(END + 3 * HOUR, old) == ["expired"]


def test_who_leaves_off_is_told_no_more_and_keeps_what_was_told(ann):
    one, other = ticket(), ticket()
    follow_tickets([one, other], by=ann, at=CALLED)
    told_at(END, one)
    assert leave_off(Follow.objects.values_list("pk", flat=True), by=PersonFactory()) == 0
    assert leave_off(Follow.objects.values_list("pk", flat=True), by=ann) == 2
    assert told_at(END, other) == []
    assert Notice.objects.count() == 1


@pytest.mark.parametrize("what", ["ticket", "job"])
def test_of_a_retired_ticket_or_job_nobody_is_told(ann, what):
    one = ticket()
    follow(ann, one)
    reckon_jobs([one.job_id], END)
    stand_aside(one if what == "ticket" else one.job)
    assert make_notices_at(END) == 0


def test_a_gone_mark_is_told_once_and_again_when_it_was_painted_anew(ann):
    one = ticket()
    follow(ann, one)
    mark = MarkFactory(job=one.job, ticket=one, is_intact=False)
    MarkFactory(job=one.job, ticket=one, is_intact=None)
    MarkFactory(job=one.job, ticket=None, is_intact=False)
    assert [told_at(START, one), told_at(START, one)] == [["mark_gone"], []]
    notice = Notice.objects.get()
    assert (notice.mark, notice.ticket, notice.due_at) == (mark, one, mark.marked_at)
    mark.re_marked_at = START + HOUR
    mark.save()
    assert told_at(START + 2 * HOUR, one) == ["mark_gone"]


def test_who_follows_a_job_is_told_of_marks_of_no_ticket(ann):
    one = ticket()
    follow_job(one.job, by=ann, at=CALLED)
    MarkFactory(job=one.job, ticket=None, is_intact=False)
    assert told_at(START - HOUR, one) == ["mark_gone"]
    make_notices()
    assert Notice.objects.get().words.startswith("Mark M")


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_ticket_that_somebody_is_saving_is_left_to_the_next_run(ann):
    one = ticket()
    follow(ann, one)
    reckon_jobs([one.job_id], END)
    with other_session() as other:
        other.set_autocommit(False)
        with other.cursor() as cursor:
            cursor.execute("SELECT FROM locates_ticket WHERE id = %s FOR UPDATE", [one.pk])
        assert make_notices_at(END) == 0
        other.rollback()
    assert make_notices_at(END) == 1


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_two_who_make_them_at_once_make_nothing_twice(ann, settings):
    settings.MAIL_SERVER, settings.MAIL_FROM = {}, "desk@crosswatch.example"
    tickets = [ticket(expires_at=timezone.now() - HOUR) for _ in range(20)]
    follow_tickets(tickets, by=ann, at=CALLED)
    for one in tickets:
        reckon_job(one.job_id)

    def run(_: int) -> int:
        try:
            return make_notices()
        finally:
            connection.close()

    with ThreadPoolExecutor(3) as pool:
        assert sum(pool.map(run, range(3))) == 20
    assert Notice.objects.exclude(words="").count() == OutgoingMail.objects.count() == 20
    assert make_notices() == 0


def test_a_run_that_was_killed_before_the_words_is_finished_by_the_next(ann):
    one = ticket()
    follow(ann, one)
    told_at(END, one)
    assert not Notice.objects.of(ann.pk).exists()
    assert not Notice.objects.unread(ann.pk).exists()
    assert make_notices() >= 1
    notice = Notice.objects.of(ann.pk).get()
    assert notice.subject == f"Ticket {one.number}: expired ({one.job.name})"
    assert "expired Mon Nov 30, 2026, 7:00 am EST" in notice.words


@pytest.mark.parametrize(
    ("change", "mails"),
    [
        (lambda ann: None, 1),
        (lambda ann: NoticeSettingFactory(person=ann, alerts_by_mail=False), 0),
        (lambda ann: type(ann).objects.filter(pk=ann.pk).update(email=""), 0),
        (lambda ann: type(ann).objects.filter(pk=ann.pk).update(email="no address"), 0),
        (lambda ann: ann.groups.clear(), 0),
    ],
)
def test_an_alert_goes_to_who_wants_and_may_get_it(ann, settings, change, mails):
    settings.MAIL_SERVER, settings.MAIL_FROM = {}, "desk@crosswatch.example"
    one = ticket()
    follow(ann, one)
    change(ann)
    told_at(END, one)
    make_notices()
    assert OutgoingMail.objects.count() == mails
    assert Notice.objects.of(ann.pk).count() == 1


def test_without_a_mail_server_nothing_is_queued(ann, settings):
    settings.MAIL_SERVER = None
    one = ticket()
    follow(ann, one)
    told_at(END, one)
    make_notices()
    assert Notice.objects.of(ann.pk).count() == 1
    assert not OutgoingMail.objects.exists()


def test_making_notices_costs_two_statements_however_many_there_are(ann, django_assert_num_queries):
    tickets = [ticket() for _ in range(5)]
    follow(ann, *tickets)
    reckon_jobs([one.job_id for one in tickets], END)
    with django_assert_num_queries(2):
        assert make_notices_at(END) == 5


@pytest.mark.parametrize("expires_at", [END, None], ids=["in force", "expiry not known"])
def test_where_no_deadline_is_known_nobody_is_told_that_one_has_passed(ann, expires_at):
    one = ticket(answer="awaiting", response_due_at=None, expires_at=expires_at)
    follow(ann, one)
    assert told_at(START - HOUR, one) == []
    assert told_at(START, one) == ["starts_unanswered"]
    assert told_at(START + HOUR, one) == []
