"""Many operators' answers from one CSV file: in the order of their times, and none undoes a later one."""

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from locates.models import Response, Ticket
from tests import factories
from tests.bulk_files import RESPONSE, csv_of, lines_of, to_the_check

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return factories.JobFactory()


@pytest.fixture
def gas(job):
    return factories.FacilityOperatorFactory(job=job, name="Brindle Gas")


@pytest.fixture
def ticket(job, gas):
    ticket = factories.TicketFactory(job=job, number="A-1")
    factories.ResponseFactory(ticket=ticket, operator=gas, response="awaiting", responded_at=None)
    return ticket


@pytest.fixture
def coordinator(client):
    person = factories.person_in_role("Coordinator")
    client.force_login(person)
    return person


def responses_csv(*rows):
    return csv_of("response", *({**RESPONSE, "operator": "Brindle Gas", **row} for row in rows))


def sent(client, job, *rows):
    return to_the_check(client, job, "response", responses_csv(*rows))


def test_answers_enter_the_history_in_the_order_of_their_times(client, coordinator, job, ticket):
    late = {"time": "2026-11-05 09:00", "answered by": "T. Vane", "note": "paint, flags"}
    early = {"answer": "extension asked", "time": "2026-11-03 09:00"}
    check = sent(client, job, late, early)
    assert "2 responses would be stored" in client.get(check).content.decode()
    client.post(check)
    history = ticket.responses.order_by("sequence")
    assert [one.response for one in history] == ["awaiting", "extension_asked", "marked"]
    last = history.last()
    assert last.responded_at == datetime(2026, 11, 5, 14, tzinfo=UTC)
    assert (last.answered_by, last.note, last.edited_by) == ("T. Vane", "paint, flags", coordinator)


def test_an_answer_that_is_there_is_told_and_not_stored_again(client, coordinator, job, ticket):
    rows = [{"answer": "extension asked", "time": "2026-11-03 09:00"}, {}]
    client.post(sent(client, job, *rows))
    again = sent(client, job, *rows)
    assert [line.split(";")[0] for line in lines_of(client, again)] == [
        "row 2, column answer: found extension asked, which is there already",
        "row 3, column answer: found marked, which is there already",
    ]
    client.post(again)
    assert ticket.responses.count() == 3


def test_one_answer_twice_in_a_file_is_told(client, coordinator, job, ticket):
    (line,) = lines_of(client, sent(client, job, {}, {}))
    assert line.startswith("row 3, column answer: found marked, which is there already")


def test_an_older_answer_never_counts_over_a_later_one(client, coordinator, job, ticket, gas):
    factories.ResponseFactory(
        ticket=ticket,
        operator=gas,
        response="extension_asked",
        responded_at=datetime(2026, 11, 4, 20, tzinfo=UTC),
    )
    (line,) = lines_of(client, sent(client, job, {}))
    assert line.startswith("row 2, column time: found Wed Nov 4, 2026, 10:00 am EST; accepted: a time after")
    assert "extension asked, Wed Nov 4, 2026, 3:00 pm EST" in line


def test_a_retired_answer_keeps_its_place(client, coordinator, job, ticket, gas):
    gone = factories.ResponseFactory(ticket=ticket, operator=gas, responded_at=None)
    factories.stand_aside(gone)
    client.post(sent(client, job, {}))
    assert ticket.responses.order_by("sequence").last().sequence == gone.sequence + 1


FAULTS = [
    ({"ticket number": "Z-9"}, "ticket number: found Z-9, which is not logged on this job"),
    ({"ticket number": ""}, "ticket number: found nothing"),
    ({"operator": "Nobody Water"}, 'operator: found "Nobody Water"; accepted: an operator of the job'),
    ({"answer": "no"}, "accepted: awaiting, marked, no facilities, partly marked"),
    ({"time": ""}, "time: found nothing; accepted: the day and time at which the operator answered"),
    ({"time": "2026-11-01 10:00"}, "That is before the ticket was called in"),
    ({"answer": "awaiting"}, "Who is awaited has not answered"),
    ({"answer": "awaiting", "time": ""}, "awaiting, which is there already"),
    ({"note": "=1+1"}, "which a spreadsheet takes for a formula"),
]


@pytest.mark.parametrize(("row", "told"), FAULTS)
def test_a_fault_is_told_and_nothing_is_stored(client, coordinator, job, ticket, row, told):
    factories.FacilityOperatorFactory(job=job, name="Tallow Power")
    check = sent(client, job, {"operator": "Tallow Power"}, row)
    (line,) = lines_of(client, check)
    assert line.startswith("row 3, column ")
    assert told in line
    client.post(check)
    assert Response.objects.count() == 1


def test_a_time_to_come_is_refused(client, coordinator, job, ticket):
    ahead = (timezone.now() + timedelta(days=2)).isoformat(timespec="seconds").replace("+00:00", "Z")
    (line,) = lines_of(client, sent(client, job, {"time": ahead}))
    assert "That time is still to come" in line


def test_a_ticket_of_another_job_is_not_found(client, coordinator, job, ticket):
    other = factories.TicketFactory(number="X-1")
    assert Ticket.objects.filter(job=other.job).exists()
    (line,) = lines_of(client, sent(client, job, {"ticket number": "X-1"}))
    assert "not logged on this job" in line
