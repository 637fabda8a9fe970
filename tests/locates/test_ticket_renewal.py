"""The draft of a renewal or a re-mark: filled in from the ticket before, and nothing is saved by looking."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from locates.models import Ticket
from tests.factories import (
    FacilityOperatorFactory,
    ResponseFactory,
    TicketFactory,
    person_in_role,
    stand_aside,
)
from tests.page_forms import controls_of, form_of

pytestmark = pytest.mark.django_db

NOW = timezone.now()


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator"))
    return client


@pytest.fixture
def ticket():
    return TicketFactory(
        number="A-1",
        called_by="R. Pell",
        stated_depth_m=1.8288,
        stated_method="horizontal directional drilling",
        called_at=NOW - timedelta(days=10),
        legal_start_at=NOW - timedelta(days=7),
        renew_by=NOW + timedelta(days=3),
        expires_at=NOW + timedelta(days=6),
    )


def address(ticket):
    return reverse("locates:ticket-renew", args=[ticket.pk])


def words_of(response):
    return " ".join(response.content.decode().split())


def test_the_draft_says_again_what_the_ticket_before_said(coordinator, ticket):
    draft = form_of(coordinator, address(ticket))
    assert draft["ticket_kind"] == "renewal"
    assert draft["previous_number"] == "A-1"
    assert draft["called_by"] == "R. Pell"
    # Nobody has told the centre anew that the work is trenchless, or looked whether the white paint is there.
    assert (ticket.white_lined, ticket.boring_declared) == (True, True)
    assert (draft["white_lined"], draft["boring_declared"]) == ("", "")
    assert draft["stated_method"] == "horizontal directional drilling"
    assert draft["area"] == form_of(coordinator, reverse("locates:ticket-edit", args=[ticket.pk]))["area"]
    for name in ("number", "called_at", "legal_start_at", "expires_at", "override_reason"):
        assert draft[name] == ""
    assert Ticket.objects.count() == 1


def test_a_re_mark_is_drafted_where_it_is_asked_for(coordinator, ticket):
    assert form_of(coordinator, f"{address(ticket)}?kind=re_mark")["ticket_kind"] == "re_mark"
    assert form_of(coordinator, f"{address(ticket)}?kind=emergency")["ticket_kind"] == "renewal"


def test_the_operators_told_before_are_chosen_and_no_other(coordinator, ticket):
    told = ResponseFactory(ticket=ticket).operator
    gone = ResponseFactory(ticket=ticket).operator
    stand_aside(gone)
    FacilityOperatorFactory(job=ticket.job)
    page = coordinator.get(address(ticket)).content.decode()
    assert page.count("checked") == 1
    assert f'value="{told.pk}" id="id_operators_0" checked' in page or f'value="{told.pk}"' in page
    assert str(gone.pk) not in page


def test_a_draft_that_is_saved_joins_the_history(coordinator, ticket):
    operator = ResponseFactory(ticket=ticket).operator
    add = reverse("locates:ticket-add", args=[ticket.job_id])
    typed = form_of(coordinator, address(ticket)) | {"number": "A-2", "called_at": "2026-11-02T08:00"}
    shown = coordinator.post(add, typed)
    assert Ticket.objects.count() == 1
    assert coordinator.post(add, controls_of(shown)).status_code == 302
    renewal = Ticket.objects.get(number="A-2")
    assert renewal.previous_number == "A-1"
    assert renewal.responses.get().operator == operator
    page = words_of(coordinator.get(reverse("locates:ticket", args=[ticket.pk])))
    assert "2 tickets in this history" in page


@pytest.mark.parametrize(("kind", "word"), [("renewal", "Renew"), ("re_mark", "Re-mark")])
@pytest.mark.parametrize("step", ["ticket-dates", "ticket-add"])
def test_the_draft_keeps_the_ticket_before_in_sight_until_it_is_saved(coordinator, ticket, step, kind, word):
    typed = form_of(coordinator, f"{address(ticket)}?kind={kind}") | {"number": "A-2"}
    Ticket.objects.filter(pk=ticket.pk).update(renew_by=NOW - timedelta(hours=1))
    page = coordinator.post(reverse(f"locates:{step}", args=[ticket.job_id]), typed)
    assert f"<h1>{word} ticket A-1</h1>" in words_of(page)
    assert "The moment to call is past" in words_of(page)
    # Shown a second time it is no less: the form goes on saying where it began.
    page = coordinator.post(reverse(f"locates:{step}", args=[ticket.job_id]), controls_of(page))
    assert "The moment to call is past" in words_of(page)
    assert controls_of(page) == typed
    assert Ticket.objects.count() == 1


@pytest.mark.parametrize("step", ["ticket-dates", "ticket-add"])
def test_a_draft_of_a_ticket_that_is_gone_or_of_another_job_is_a_plain_new_ticket(coordinator, ticket, step):
    typed = form_of(coordinator, address(ticket))
    url = reverse(f"locates:{step}", args=[ticket.job_id])
    other = coordinator.post(url, typed | {"drafted_from": str(TicketFactory(number="B-1").pk)})
    assert "B-1" not in words_of(other)
    stand_aside(ticket)
    page = coordinator.post(url, typed)
    assert "<h1>New ticket</h1>" in words_of(page)
    assert controls_of(page)["called_by"] == "R. Pell"
    assert coordinator.post(url, typed | {"drafted_from": "A-1"}).status_code == 404


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"renew_by": None}, "Ask the one-call centre by when a renewal must be called in"),
        ({"renew_by": NOW - timedelta(hours=1)}, "The moment to call is past"),
        (
            {"renew_by": NOW - timedelta(days=1), "expires_at": NOW - timedelta(hours=1)},
            "It has expired: nothing may be dug here",
        ),
        ({"work_finished_at": NOW - timedelta(hours=1)}, "said that the work of this ticket is over"),
    ],
)
def test_the_draft_begins_with_what_stands_in_its_way(coordinator, ticket, values, words):
    assert words not in words_of(coordinator.get(address(ticket)))
    Ticket.objects.filter(pk=ticket.pk).update(**values)
    assert words in words_of(coordinator.get(address(ticket)))


def test_a_ticket_that_is_renewed_already_names_its_successor(coordinator, ticket):
    assert "no ticket</dd>" in words_of(coordinator.get(address(ticket)))
    TicketFactory(job=ticket.job, number="A-2", previous_number="A-1")
    TicketFactory(number="B-2", previous_number="A-1")
    page = words_of(coordinator.get(address(ticket)))
    assert ">A-2</a>" in page
    assert "B-2" not in page


def test_a_retired_ticket_is_not_renewed_and_a_foreman_drafts_nothing(client, ticket):
    client.force_login(person_in_role("Foreman"))
    assert client.get(address(ticket)).status_code == 403
    client.force_login(person_in_role("Coordinator"))
    stand_aside(ticket)
    assert client.get(address(ticket)).status_code == 404
