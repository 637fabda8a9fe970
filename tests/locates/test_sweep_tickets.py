"""The sweep: twice, two at once, beside somebody who saves, after a night; and a save shows at once."""

import threading
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection, transaction
from django.utils import timezone

from config.celery import app
from locates.changes import job_changed
from locates.desk.reckon_tickets import sweep_due
from locates.desk.restore import restore
from locates.desk.retire import retire
from locates.desk.save_record import hold_job, save_record
from locates.models import Organisation, Response, TicketMatter, TicketStanding
from locates.models.ticket_reckoning import TAKE_DUE, ask_again, reckon_due, reckon_jobs
from locates.tasks import SWEEP_TICKETS_TASK, sweep_tickets
from tests.factories import JobFactory, PersonFactory, ResponseFactory, TicketFactory

BEFORE = datetime(2026, 11, 3, 12, 0, tzinfo=UTC)
AFTER = datetime(2026, 11, 30, 12, 0, tzinfo=UTC)


def tickets_of_before(count: int) -> None:
    """Tickets of a job, each reckoned when it had not begun."""
    job = JobFactory()
    for _ in range(count):
        ResponseFactory(ticket__job=job, response="awaiting")
    reckon_jobs([job.pk], BEFORE)


def rows() -> tuple[list, list]:
    return (
        list(TicketStanding.objects.order_by("pk").values()),
        list(TicketMatter.objects.order_by("pk").values()),
    )


@pytest.mark.django_db
def test_a_missed_night_is_caught_up_in_one_go_however_small_the_batches():
    tickets_of_before(7)
    # Answers became due, work began, the lead time came and the ticket ran out: one sweep after all of it.
    done = sweep_due(AFTER, batch=3)
    assert (done.tickets, done.standings_written) == (7, 7)
    assert set(TicketStanding.objects.values_list("state", "overdue_count")) == {("expired", 1)}
    assert set(TicketMatter.objects.values_list("matter", flat=True)) == {"expired"}


@pytest.mark.django_db
def test_a_sweep_that_runs_twice_changes_nothing_twice():
    tickets_of_before(3)
    assert sweep_due(AFTER).changes == 9  # a standing each, the soon-to-start gone, the expired there
    once = rows()
    assert sweep_due(AFTER).tickets == 0
    assert sweep_due(AFTER + timedelta(hours=1)).tickets == 0
    assert rows() == once


@pytest.mark.django_db
def test_a_sweep_with_nothing_due_takes_one_statement_in_its_transaction(django_assert_num_queries):
    tickets_of_before(2)
    with django_assert_num_queries(3):  # a savepoint, since the test is in a transaction already
        assert sweep_due(BEFORE).tickets == 0


@pytest.mark.django_db
def test_what_is_due_is_found_by_its_index():
    with connection.cursor() as cursor:
        # A few rows are read faster whole, or by whichever index their statistics favour, and sorted then.
        for other_way in ("seqscan", "bitmapscan", "sort"):
            cursor.execute(f"SET LOCAL enable_{other_way} = off")
        cursor.execute(f"EXPLAIN {TAKE_DUE}", {"at": AFTER, "most": 10})
        plan = "\n".join(line for (line,) in cursor.fetchall())
    assert "Index Scan using standing_changes on locates_ticketstanding" in plan
    assert "Sort" not in plan


@pytest.mark.django_db
def test_beat_sweeps_and_the_task_is_what_beat_names():
    tickets_of_before(1)
    TicketStanding.objects.update(changes_at=timezone.now())
    sweep_tickets()
    assert not TicketStanding.objects.due(timezone.now()).exists()
    named = [one["task"] for one in app.conf.beat_schedule.values()]
    assert SWEEP_TICKETS_TASK in named
    assert SWEEP_TICKETS_TASK in app.tasks


@pytest.mark.django_db
def test_a_changed_lead_time_is_held_against_every_ticket_by_the_next_sweep():
    tickets_of_before(1)
    organisation = Organisation.objects.get(jobs__tickets__isnull=False)
    assert TicketMatter.objects.filter(matter="starts_soon").exists()
    organisation.desk_lead_hours = 1
    organisation.save()
    assert ask_again(organisation.pk, BEFORE) == 1
    sweep_due(BEFORE)
    assert not TicketMatter.objects.exists()


class TestSaving:
    """Whoever saves a record finds its tickets reckoned, in the same transaction."""

    @pytest.fixture
    def ticket(self, db):
        start = timezone.now() - timedelta(days=1)
        return TicketFactory(
            called_at=start - timedelta(days=3), legal_start_at=start, expires_at=start + timedelta(days=20)
        )

    def test_an_answer_takes_its_matter_away(self, ticket):
        person = PersonFactory()
        awaiting = ResponseFactory.build(ticket=ticket, operator=None, response="awaiting", sequence=0)
        awaiting.operator = ticket.job.operators.create(name="Brindle Gas")
        save_record(awaiting, by=person)
        assert list(TicketMatter.objects.values_list("matter", flat=True)) == ["answer_overdue"]
        answer = Response(ticket=ticket, operator=awaiting.operator, response="marked", sequence=1)
        save_record(answer, by=person)
        assert not TicketMatter.objects.exists()
        assert TicketStanding.objects.get().awaited_count == 0

    def test_a_retired_ticket_leaves_the_lists_and_comes_back(self, ticket):
        job_changed(ticket.job_id)
        assert list(TicketMatter.objects.values_list("matter", flat=True)) == ["name_operators"]
        retirement = retire(ticket, by=PersonFactory())
        assert not TicketStanding.objects.exists()
        assert not TicketMatter.objects.exists()
        restore(retirement, by=PersonFactory())
        assert TicketStanding.objects.get().ticket_id == ticket.pk

    def test_a_retired_job_takes_its_tickets_along(self, ticket):
        job_changed(ticket.job_id)
        retire(ticket.job, by=PersonFactory())
        assert not TicketStanding.objects.exists()


def in_a_session(work) -> tuple[threading.Thread, list]:
    """Run something on a connection of its own; what comes of it stands in the list."""
    outcome: list = []

    def run() -> None:
        try:
            outcome.append(work())
        except Exception as error:  # noqa: BLE001 - the test that joins looks at what came of it
            outcome.append(error)
        finally:
            connection.close()

    thread = threading.Thread(target=run)
    thread.start()
    return thread, outcome


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
class TestTwoAtOnce:
    def test_two_sweeps_share_the_tickets_and_change_each_once(self):
        tickets_of_before(20)
        both = threading.Barrier(2)

        def sweep():
            both.wait(timeout=20)
            return sweep_due(AFTER, batch=2)

        running = [in_a_session(sweep) for _ in range(2)]
        for thread, _ in running:
            thread.join(timeout=60)
        done = [outcome[0] for _, outcome in running]
        assert sum(one.tickets for one in done) == 20
        assert sum(one.standings_written for one in done) == 20
        assert TicketMatter.objects.count() == 20

    def test_a_sweep_passes_by_what_another_has_in_hand(self):
        tickets_of_before(6)
        taken, finished = threading.Event(), threading.Event()

        def slow():
            with transaction.atomic():
                done = reckon_due(AFTER, 4)
                taken.set()
                finished.wait(timeout=20)
            return done

        thread, outcome = in_a_session(slow)
        assert taken.wait(timeout=20)
        assert sweep_due(AFTER).tickets == 2
        finished.set()
        thread.join(timeout=60)
        assert outcome[0].tickets == 4
        assert not TicketStanding.objects.due(AFTER).exists()

    def test_a_sweep_leaves_a_job_to_whoever_saves_a_record_of_it(self):
        tickets_of_before(2)
        tickets_of_before(1)
        held = TicketStanding.objects.values_list("job", flat=True).first()
        count = TicketStanding.objects.filter(job=held).count()
        holding, finished = threading.Event(), threading.Event()

        def save():
            with transaction.atomic():
                hold_job(held)
                holding.set()
                finished.wait(timeout=20)
                reckon_jobs([held], AFTER)

        thread, outcome = in_a_session(save)
        assert holding.wait(timeout=20)
        assert sweep_due(AFTER).tickets == 3 - count
        finished.set()
        thread.join(timeout=60)
        assert outcome == [None]
        assert not TicketStanding.objects.due(AFTER).exists()
