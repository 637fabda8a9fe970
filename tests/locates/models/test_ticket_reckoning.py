"""Reckoning all tickets at once comes out as reading every ticket by itself does, now and as time goes on."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from locates.models import Job, Organisation, Ticket, TicketMatter, TicketStanding
from locates.models.ticket_reckoning import reckon_due, reckon_jobs
from tests.factories import (
    FacilityOperatorFactory,
    JobFactory,
    MarkFactory,
    ResponseFactory,
    TicketFactory,
    stand_aside,
)
from tests.locates.standing_oracle import stands

CALLED = datetime(2026, 11, 2, 13, 0, tzinfo=UTC)
# Few moments, so that they often meet: what counts is on which side of one a moment lies, and when it is one.
STEP = timedelta(hours=12)
STEPS = st.integers(0, 24)
MAYBE = st.none() | STEPS


def moment(steps: int | None) -> datetime | None:
    return None if steps is None else CALLED + steps * STEP


@st.composite
def tickets(draw):
    """The columns of one ticket that count, with its answers and marks; within the bounds of its table."""
    called = draw(st.integers(0, 4))
    start = draw(st.none() | st.integers(called, 12))
    expiry = draw(st.none() | st.integers((called if start is None else start) + 1, 24))
    return {
        "called_at": moment(called),
        "legal_start_at": moment(start),
        "expires_at": moment(expiry),
        "response_due_at": moment(draw(st.none() | st.integers(called, 20))),
        "renew_by": moment(draw(st.none() | st.integers(called, expiry or 24))),
        "latest_start_at": moment(draw(st.none() | st.integers(start or called, expiry or 24))),
        "work_finished_at": moment(draw(st.sampled_from([None, None, None, None, called]))),
        "ticket_kind": draw(st.sampled_from(["routine", "emergency", "renewal", "re_mark"])),
        "previous": draw(st.none() | st.integers(0, 4)),
        "is_retired": draw(st.sampled_from([False] * 7 + [True])),
        "answers": draw(
            st.lists(
                st.tuples(
                    st.integers(0, 1),
                    st.sampled_from(["awaiting", "marked", "no_facilities", "extension_asked"]),
                    MAYBE,
                    st.booleans(),
                ),
                max_size=4,
            )
        ),
        "marks": draw(st.lists(st.tuples(st.sampled_from([True, False, None]), st.booleans()), max_size=2)),
    }


def stored(job: Job, drawn: list[dict]) -> None:
    """Put drawn tickets on a job, by plain inserts that tell nobody."""
    operators = [FacilityOperatorFactory(job=job) for _ in range(2)]
    for place, one in enumerate(drawn):
        beside = {name: one[name] for name in ("previous", "is_retired", "answers", "marks")}
        columns = {name: value for name, value in one.items() if name not in beside}
        previous = "" if beside["previous"] is None else f"N{beside['previous']}"
        ticket = TicketFactory(job=job, number=f"N{place}", previous_number=previous, **columns)
        for sequence, (operator, answer, answered, is_retired) in enumerate(beside["answers"]):
            response = ResponseFactory(
                ticket=ticket,
                operator=operators[operator],
                response=answer,
                responded_at=moment(answered),
                sequence=sequence,
            )
            if is_retired:
                stand_aside(response)
        for is_intact, is_retired in beside["marks"]:
            mark = MarkFactory(job=job, operator=operators[0], ticket=ticket, is_intact=is_intact)
            if is_retired:
                stand_aside(mark)
        if beside["is_retired"]:
            stand_aside(ticket)


def expected(job: Job, at: datetime) -> dict:
    found = {}
    for ticket in Ticket.with_retired.filter(job=job).select_related("job__organisation"):
        one = stands(ticket, at)
        if one is not None:
            found[ticket.number] = (one.state, one.named, one.awaited, one.overdue, one.matters)
    return found


def listed(job: Job) -> dict:
    matters: dict = {}
    for matter in TicketMatter.objects.filter(job=job):
        matters.setdefault(matter.ticket_id, {})[matter.matter] = matter.due_at
    return {
        one.ticket.number: (
            one.state,
            one.named_count,
            one.awaited_count,
            one.overdue_count,
            matters.pop(one.ticket_id, {}),
        )
        for one in TicketStanding.objects.filter(job=job).select_related("ticket")
    } | ({"matters of no ticket": matters} if matters else {})


@pytest.mark.django_db
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    drawn=st.lists(tickets(), min_size=1, max_size=5),
    lead_hours=st.sampled_from([0, 12, 30, 48]),
    moments=st.lists(STEPS, min_size=1, max_size=4),
    is_past_it=st.booleans(),
)
def test_time_brings_every_ticket_to_where_reading_it_by_itself_does(drawn, lead_hours, moments, is_past_it):
    with transaction.atomic():
        job = JobFactory()
        Organisation.objects.filter(pk=job.organisation_id).update(desk_lead_hours=lead_hours)
        stored(job, drawn)
        ats = sorted(moment(one) + timedelta(minutes=is_past_it) for one in moments)
        reckon_jobs([job.pk], ats[0])
        assert listed(job) == expected(job, ats[0])
        for at in ats[1:]:
            # Nothing but the clock has moved: only what is found by its next change is looked at.
            reckon_due(at, 100)
            assert listed(job) == expected(job, at)
            assert not TicketStanding.objects.due(at).exists()
        assert reckon_jobs([job.pk], ats[-1]).changes == 0
        transaction.set_rollback(True)


@pytest.fixture
def job(db):
    return JobFactory()


def test_a_state_begins_and_ends_at_the_very_moment(job):
    ticket = TicketFactory(job=job)
    second = timedelta(seconds=1)
    for at, state in (
        (ticket.legal_start_at - second, "not_started"),
        (ticket.legal_start_at, "in_force"),
        (ticket.expires_at - second, "in_force"),
        (ticket.expires_at, "expired"),
    ):
        reckon_jobs([job.pk], at)
        assert TicketStanding.objects.get(ticket=ticket).state == state


def test_two_tickets_that_name_each_other_do_not_both_vanish(job):
    first = TicketFactory(job=job, number="A", previous_number="B")
    second = TicketFactory(
        job=job, number="B", previous_number="A", called_at=first.called_at + timedelta(hours=1)
    )
    reckon_jobs([job.pk], first.legal_start_at)
    assert TicketStanding.objects.get(ticket=first).state == "replaced"
    assert TicketStanding.objects.get(ticket=second).state == "in_force"


def test_a_ticket_of_another_job_with_the_number_replaces_nothing(job):
    ticket = TicketFactory(job=job, number="A")
    other = TicketFactory(number="B", previous_number="A", called_at=ticket.called_at + timedelta(hours=1))
    reckon_jobs([job.pk, other.job_id], ticket.legal_start_at)
    assert TicketStanding.objects.get(ticket=ticket).state == "in_force"


@pytest.mark.parametrize("count", [1, 40])
def test_a_job_takes_two_statements_however_many_tickets_it_has(job, count, django_assert_num_queries):
    for _ in range(count):
        ResponseFactory(ticket__job=job)
    with django_assert_num_queries(2):
        done = reckon_jobs([job.pk], datetime(2026, 11, 6, 12, 0, tzinfo=UTC))
    assert (done.tickets, done.standings_written) == (count, count)
