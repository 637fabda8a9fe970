"""A ticket's page: dates with their working, its history, and whether its work is over."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.models import Reassessment
from locates.models import Ticket
from tests.factories import (
    CALLED_AT,
    EXPIRES_AT,
    LEGAL_START_AT,
    JurisdictionRuleFactory,
    ResponseFactory,
    TicketFactory,
    person_in_role,
    small_job,
    stand_aside,
)

pytestmark = pytest.mark.django_db

WORKING = "Two full days after the day of the notice, so Thursday at 7:00 am."


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


def words_of(response):
    return " ".join(response.content.decode().split())


def page_of(client, ticket):
    response = client.get(reverse("locates:ticket", args=[ticket.pk]))
    assert response.status_code == 200
    return words_of(response)


def ruled_ticket(**values):
    """A ticket whose legal start was worked out and whose expiry the rule does not give."""
    job = values.pop("job", None) or TicketFactory().job
    computed = {
        "legal_start_at": {"at": LEGAL_START_AT.isoformat(), "working": WORKING},
        "expires_at": {"at": None, "working": "Two readings differ: ask the centre and enter the date."},
    }
    return TicketFactory(job=job, dates_rule=job.jurisdiction, computed_dates=computed, **values)


def test_a_date_stands_with_its_working_and_the_rule_behind_it(coordinator):
    ticket = ruled_ticket()
    page = page_of(coordinator, ticket)
    assert WORKING in page
    assert f"{ticket.dates_rule.code}, version 1" in page
    assert "set by hand" not in page


def test_a_date_set_by_hand_stands_beside_the_one_worked_out_with_the_reason(coordinator):
    later = LEGAL_START_AT + timedelta(days=1)
    ticket = ruled_ticket(legal_start_at=later, override_reason="The centre moved it by phone.")
    page = page_of(coordinator, ticket)
    assert "Fri Nov 6, 2026, 7:00 am EST</time><small>set by hand" in page
    assert "Thu Nov 5, 2026, 7:00 am EST</time>" in page
    assert "The centre moved it by phone." in page


def test_an_unknown_date_says_why_and_what_to_ask_and_the_ticket_is_not_in_force(coordinator):
    page = page_of(coordinator, ruled_ticket(expires_at=None))
    assert "Two readings differ: ask the centre and enter the date." in page
    assert "Not in force:" in page
    without_rule = page_of(coordinator, TicketFactory(expires_at=None))
    assert "Ask the one-call centre when the ticket ends" in without_rule


def test_a_ticket_that_no_rule_was_held_against_says_so(coordinator):
    ticket = small_job().tickets.get()
    page = page_of(coordinator, ticket)
    assert "Dates as the centre gave them" in page
    assert "Worked out" not in page


@pytest.mark.parametrize(
    ("legal_start", "expiry", "words"),
    [(1, 2, "Not in force yet:"), (-2, 2, "In force</strong>"), (-2, -1, "Expired</strong>")],
)
def test_the_page_begins_with_whether_the_ticket_is_in_force(coordinator, legal_start, expiry, words):
    now = timezone.now()
    ticket = TicketFactory(
        called_at=now - timedelta(days=9),
        legal_start_at=now + timedelta(days=legal_start),
        expires_at=now + timedelta(days=expiry),
    )
    assert words in page_of(coordinator, ticket)


def in_history(page, *numbers):
    """Whether the numbers stand in the history in this order."""
    history = page[page.index('id="history"') :]
    places = [history.find(f">{number}<") for number in numbers]
    return -1 not in places and places == sorted(places)


def test_a_chain_of_renewals_is_one_history_from_any_of_its_tickets(coordinator):
    first = TicketFactory(number="A-1")
    job = first.job
    second = TicketFactory(
        job=job, number="A-2", previous_number="A-1", called_at=CALLED_AT + timedelta(hours=1)
    )
    third = TicketFactory(
        job=job, number="A-3", previous_number="A-2", called_at=CALLED_AT + timedelta(hours=2)
    )
    TicketFactory(job=job, number="B-1")
    TicketFactory(number="A-4", previous_number="A-3")
    for ticket in (first, second, third):
        page = page_of(coordinator, ticket)
        assert in_history(page, "A-1", "A-2", "A-3")
        assert "B-1" not in page
        assert "A-4" not in page


def test_a_predecessor_that_is_not_logged_is_named_and_a_ring_ends(coordinator):
    ticket = TicketFactory(number="A-2", previous_number="A-1")
    assert "not logged on this job" in page_of(coordinator, ticket)
    TicketFactory(job=ticket.job, number="A-1", previous_number="A-2")
    assert in_history(page_of(coordinator, ticket), "A-1", "A-2")


def test_work_is_said_to_be_over_once_with_who_and_when_and_it_can_be_taken_back(coordinator):
    ticket = small_job().tickets.get()
    url = reverse("locates:ticket-finish", args=[ticket.pk])
    wanted = Reassessment.objects.get().wanted if Reassessment.objects.exists() else 0
    assert coordinator.post(url).url == reverse("locates:ticket", args=[ticket.pk])
    finished = Ticket.objects.get()
    assert finished.work_finished_by.username == "ruth"
    coordinator.post(url)
    assert Ticket.objects.get().work_finished_at == finished.work_finished_at
    assert Ticket.objects.get().version == finished.version == ticket.version + 1
    assert "said by ruth" in page_of(coordinator, ticket)
    assert Reassessment.objects.get().wanted == wanted + 1
    coordinator.post(url, {"undo": "yes"})
    again = Ticket.objects.get()
    assert (again.work_finished_at, again.work_finished_by) == (None, None)


def test_work_of_a_ticket_called_in_later_is_not_over(coordinator):
    ticket = TicketFactory(called_at=timezone.now() + timedelta(days=1), legal_start_at=None, expires_at=None)
    response = coordinator.post(reverse("locates:ticket-finish", args=[ticket.pk]), follow=True)
    assert "Nothing is changed. called_at: accepted is a value not after work_finished_at." in words_of(
        response
    )
    assert Ticket.objects.get().work_finished_at is None


@pytest.mark.parametrize("role", ["Foreman", "Safety manager"])
def test_who_only_reads_sees_the_page_without_what_changes_it(client, role):
    ticket = TicketFactory()
    client.force_login(person_in_role(role))
    finish = reverse("locates:ticket-finish", args=[ticket.pk])
    assert finish not in page_of(client, ticket)
    assert client.post(finish).status_code == 403


def test_a_retired_ticket_and_one_of_a_retired_job_have_no_page(coordinator):
    retired, orphan = TicketFactory(), TicketFactory()
    stand_aside(retired)
    stand_aside(orphan.job)
    for ticket in (retired, orphan):
        url = reverse("locates:ticket", args=[ticket.pk])
        assert coordinator.get(url).status_code == 404
        assert coordinator.post(f"{url}finish/").status_code == 404


def test_a_newer_version_of_the_rule_is_told_until_a_person_has_held_the_dates_against_it(coordinator):
    ticket = ruled_ticket()
    rule = ticket.job.jurisdiction
    newer = JurisdictionRuleFactory(code=rule.code, version=2)
    assert f"Of the rule of {rule.code} another version counts since: version 2." in page_of(
        coordinator, ticket
    )
    Ticket.objects.filter(pk=ticket.pk).update(reviewed_rule=newer)
    assert "another version counts since" not in page_of(coordinator, ticket)


def test_the_page_costs_as_many_queries_with_many_answers_and_renewals_as_with_one(
    coordinator, django_assert_max_num_queries
):
    ticket = ruled_ticket(number="A-0", expires_at=EXPIRES_AT)

    def queries():
        with django_assert_max_num_queries(30) as captured:
            page_of(coordinator, ticket)
        return len(captured)

    ResponseFactory(ticket=ticket)
    queries()
    one = queries()
    for number in range(1, 6):
        TicketFactory(job=ticket.job, number=f"A-{number}", previous_number=f"A-{number - 1}")
        ResponseFactory(ticket=ticket)
    assert queries() == one
