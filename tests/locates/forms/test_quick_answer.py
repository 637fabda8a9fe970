"""An answer typed in a few letters, and what the page of a ticket's answers shows."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from locates.desk.answer_sheet import answer_sheet, silence_under
from locates.models import Response
from tests.factories import (
    FacilityOperatorFactory,
    JurisdictionRuleFactory,
    ResponseFactory,
    TicketFactory,
    person_in_role,
    stand_aside,
)

pytestmark = pytest.mark.django_db

SURE = {"is_sure": True, "citation": "Invented Code 7"}
CLOCK = {
    "working_days": {"holidays": {"state": "OR", "lists": ["federal"], **SURE}, **SURE},
    "silence": {
        "policy": "go_on_with_care",
        "words": "After the period the work may go on with care",
        **SURE,
    },
}


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


@pytest.fixture
def ticket():
    return TicketFactory()


@pytest.fixture
def operators(ticket):
    names = ("Brindle Gas", "Brindle Water", "Tallow Power")
    return [FacilityOperatorFactory(job=ticket.job, name=name, contact="Desk 555-0111") for name in names]


def typed(client, ticket, operator, answer, **values):
    told = {"operator": operator, "response": answer, "new_id": str(uuid4()), "page": "responses"}
    return client.post(reverse("locates:response-quick", args=[ticket.pk]), told | values)


def test_letters_become_an_answer_of_this_moment(coordinator, ticket, operators):
    left = typed(coordinator, ticket, "tal", "n")
    assert left.url == reverse("locates:response-add", args=[ticket.pk])
    answer = ticket.responses.get()
    assert (answer.operator.name, answer.response, answer.sequence) == ("Tallow Power", "no_facilities", 0)
    assert timezone.now() - answer.responded_at < timedelta(minutes=1)
    assert answer.edited_by.get_username() == "ruth"


def test_from_the_ticket_s_page_it_comes_back_there_for_the_next_answer(coordinator, ticket, operators):
    left = typed(coordinator, ticket, "tal", "m", page="ticket")
    assert left.url == f"{reverse('locates:ticket', args=[ticket.pk])}?answering=1"


def test_the_same_form_sent_twice_is_one_answer(coordinator, ticket, operators):
    new_id = str(uuid4())
    for _ in range(2):
        assert typed(coordinator, ticket, "tal", "m", new_id=new_id).status_code == 302
    assert Response.objects.count() == 1


@pytest.mark.parametrize(
    ("operator", "answer", "words"),
    [
        ("bri", "m", "Brindle Gas and Brindle Water begin so"),
        ("zz", "m", "on this job there is"),
        ("tal", "x", "type a for awaiting, m for marked"),
        ("tal", "", "This field is required"),
    ],
)
def test_what_cannot_be_read_is_shown_again_and_stores_nothing(
    coordinator, ticket, operators, operator, answer, words
):
    page = typed(coordinator, ticket, operator, answer)
    assert page.status_code == 200
    content = page.content.decode()
    assert words in content
    assert f'value="{operator}"' in content
    assert not Response.objects.exists()
    assert content.count("autofocus") == 1


@pytest.mark.parametrize("page", ["https://elsewhere.example", "", "job"])
def test_it_leads_nowhere_but_back(coordinator, ticket, operators, page):
    assert typed(coordinator, ticket, "tal", "m", page=page).status_code == 200
    assert not Response.objects.exists()


def test_an_operator_of_another_job_is_not_meant(coordinator, ticket, operators):
    FacilityOperatorFactory(name="Umber Gas")
    page = typed(coordinator, ticket, "umb", "m").content.decode()
    assert "on this job there is Brindle Gas" in page
    assert "Umber Gas" not in page
    assert not Response.objects.exists()


@pytest.mark.parametrize("role", ["Foreman", "Safety manager"])
def test_who_logs_no_answers_is_refused(client, ticket, operators, role):
    client.force_login(person_in_role(role))
    assert typed(client, ticket, "tal", "m").status_code == 403


def test_the_page_names_the_next_operator_and_has_the_cursor_at_its_answer(coordinator, ticket, operators):
    for operator in operators:
        ResponseFactory(ticket=ticket, operator=operator, response="awaiting", responded_at=None)
    url = reverse("locates:response-add", args=[ticket.pk])
    names = []
    for _ in operators:
        quick = coordinator.get(url).context["quick"]
        names.append(quick.initial["operator"])
        assert quick.fields["response"].widget.attrs["autofocus"]
        typed(coordinator, ticket, names[-1], "m")
    assert names == ["Brindle Gas", "Brindle Water", "Tallow Power"]
    quick = coordinator.get(url).context["quick"]
    assert quick.initial["operator"] == ""
    assert quick.fields["operator"].widget.attrs["autofocus"]


def test_who_has_given_no_answer_comes_before_whose_answer_is_not_final(ticket, operators):
    ResponseFactory(ticket=ticket, operator=operators[0], response="extension_asked")
    ResponseFactory(ticket=ticket, operator=operators[1], response="marked")
    ResponseFactory(ticket=ticket, operator=operators[2], response="awaiting", responded_at=None)
    sheet = answer_sheet(ticket, timezone.now())
    assert sheet.next_operator == operators[2]
    assert [one.operator for one in sheet.operators] == [operators[0], operators[2], operators[1]]
    assert (sheet.missing_count, sheet.overdue_count) == (2, 0)


def test_the_deadline_is_told_and_no_answer_by_then_is_worked_out_not_stored(coordinator, ticket, operators):
    ticket.response_due_at = ticket.called_at + timedelta(days=2)
    ticket.save()
    ResponseFactory(ticket=ticket, operator=operators[0], response="awaiting", responded_at=None)
    early = answer_sheet(ticket, ticket.response_due_at - timedelta(minutes=1))
    late = answer_sheet(ticket, ticket.response_due_at)
    assert (early.overdue_count, late.overdue_count) == (0, 1)
    page = coordinator.get(reverse("locates:response-add", args=[ticket.pk])).content.decode()
    assert "1 owes a final answer, 1 past the deadline" in page
    assert "No answer by the deadline, Wed Nov 4, 2026, 8:00 am EST." in page
    assert "Desk 555-0111" in page
    assert list(ticket.responses.values_list("response", flat=True)) == ["awaiting"]


def test_the_history_tells_when_by_whom_and_what_was_said(coordinator, ticket, operators):
    ResponseFactory(
        ticket=ticket,
        operator=operators[0],
        response="extension_asked",
        answered_by="M. Ferrow",
        note="Two more days.",
        edited_by=person_in_role("Coordinator", username="odd"),
    )
    ResponseFactory(ticket=ticket, operator=operators[0], response="marked")
    gone = ResponseFactory(ticket=ticket, operator=operators[0], response="standing_by", note="Wrong ticket.")
    stand_aside(gone)
    page = coordinator.get(reverse("locates:response-add", args=[ticket.pk])).content.decode()
    for words in ("by M. Ferrow", "Two more days.", "by odd", "earlier answer, since replaced"):
        assert words in page
    assert "Wrong ticket." not in page


def test_an_answer_logged_in_error_is_retired_and_the_one_before_counts_again(coordinator, ticket, operators):
    ResponseFactory(ticket=ticket, operator=operators[0], response="awaiting", responded_at=None)
    wrong = ResponseFactory(ticket=ticket, operator=operators[0], response="marked")
    assert not answer_sheet(ticket, timezone.now()).missing_count
    page = coordinator.get(reverse("locates:response-add", args=[ticket.pk])).content.decode()
    retire = reverse("locates:response-retire", args=[wrong.pk])
    assert retire in page
    coordinator.post(retire)
    assert answer_sheet(ticket, timezone.now()).missing_count == 1
    assert Response.with_retired.filter(pk=wrong.pk).exists()


def test_the_answers_are_read_in_the_same_number_of_queries_however_many_they_are(ticket, operators):
    counts = []
    for times in (1, 6):
        for _ in range(times):
            for operator in operators:
                ResponseFactory(ticket=ticket, operator=operator)
        with CaptureQueriesContext(connection) as queries:
            answer_sheet(ticket, timezone.now())
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 5


def test_what_the_law_says_of_silence_is_told_and_the_hold_beside_it(coordinator, ticket, operators):
    rule = JurisdictionRuleFactory(clock=CLOCK)
    ticket.job.jurisdiction = rule
    ticket.job.save()
    url = reverse("locates:response-add", args=[ticket.pk])
    page = coordinator.get(url).content.decode()
    assert f"rule of {rule.code}, version 1" in page
    assert "After the period the work may go on with care (Invented Code 7)." in page
    assert "the check behind a release holds here until every operator has given a final answer" in page


@pytest.mark.parametrize("clock", [{}, {"silence": {"policy": "sing"}}])
def test_where_the_rule_says_nothing_that_can_be_read_silence_means_to_wait(ticket, clock):
    silence = silence_under(JurisdictionRuleFactory(clock=clock))
    assert silence.policy == "wait"
    assert silence.words.endswith("wait for every answer.")
