"""What operators answered, added one after the other to a ticket's history."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from locates.models import Response
from tests.factories import FacilityOperatorFactory, ResponseFactory, TicketFactory, person_in_role
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


@pytest.fixture
def ticket():
    return TicketFactory()


def sent(client, ticket, operator, response, **values):
    url = reverse("locates:response-add", args=[ticket.pk])
    return client.post(
        url, form_of(client, url) | {"operator": str(operator.pk), "response": response, **values}
    )


def test_an_answer_ends_the_history_and_the_page_stays_for_the_next(coordinator, ticket):
    gas, power = (FacilityOperatorFactory(job=ticket.job) for _ in range(2))
    first = sent(coordinator, ticket, gas, "awaiting")
    assert first.url == reverse("locates:response-add", args=[ticket.pk])
    sent(coordinator, ticket, power, "no_facilities", responded_at="2026-11-04T10:30", note="By phone.")
    sent(coordinator, ticket, gas, "marked")
    assert list(ticket.responses.values_list("sequence", "response")) == [
        (0, "awaiting"),
        (1, "no_facilities"),
        (2, "marked"),
    ]
    assert ticket.responses.get(sequence=1).responded_at == datetime(2026, 11, 4, 15, 30, tzinfo=UTC)
    page = coordinator.get(first.url).content.decode()
    assert "earlier answer, since replaced" in page


def test_an_answer_without_a_time_has_come_just_now_and_an_awaited_one_has_not(coordinator, ticket):
    operator = FacilityOperatorFactory(job=ticket.job)
    sent(coordinator, ticket, operator, "awaiting")
    sent(coordinator, ticket, operator, "marked")
    awaited, answered = ticket.responses.all()
    assert awaited.responded_at is None
    assert timezone.now() - answered.responded_at < timedelta(minutes=10)


def test_a_time_of_an_answer_that_has_not_come_is_refused(coordinator, ticket):
    operator = FacilityOperatorFactory(job=ticket.job)
    page = sent(coordinator, ticket, operator, "awaiting", responded_at="2026-11-04T10:30", note="Called.")
    assert "leave this empty" in page.content.decode()
    assert "Called." in page.content.decode()
    assert not Response.objects.exists()


def test_only_operators_of_the_job_answer(coordinator, ticket):
    page = sent(coordinator, ticket, FacilityOperatorFactory(), "marked")
    assert "Select a valid choice" in page.content.decode()


def test_with_no_operator_the_page_says_where_to_add_one(coordinator, ticket):
    page = coordinator.get(reverse("locates:response-add", args=[ticket.pk])).content.decode()
    assert reverse("locates:operator-add", args=[ticket.job_id]) in page


def test_an_answer_given_by_mistake_is_retired_and_the_one_before_counts_again(coordinator):
    first = ResponseFactory(response="awaiting", responded_at=None)
    wrong = ResponseFactory(ticket=first.ticket, operator=first.operator, response="marked")
    coordinator.post(reverse("locates:response-retire", args=[wrong.pk]))
    assert list(Response.objects.filter(ticket=first.ticket).latest_each()) == [first]
    sent(coordinator, first.ticket, first.operator, "no_facilities")
    assert first.ticket.responses.last().sequence == 2


@pytest.mark.parametrize("role", ["Foreman", "Safety manager"])
def test_whoever_may_not_log_answers_gets_no_form(client, ticket, role):
    client.force_login(person_in_role(role))
    assert client.get(reverse("locates:response-add", args=[ticket.pk])).status_code == 403
