"""A ticket logged and changed: dates in the job's zone, a typed work area, errors beside the field."""

from datetime import UTC, datetime

import pytest
from django.urls import reverse

from conflicts.models import Reassessment
from locates.models import Ticket
from tests.factories import JobFactory, TicketFactory, person_in_role, small_job
from tests.page_forms import controls_of, form_of

pytestmark = pytest.mark.django_db

CORNERS = "38.0001, -78.5001\n38.0001, -78.4980\n37.9999, -78.4980\n37.9999, -78.5001"


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


def words_of(response):
    return " ".join(response.content.decode().split())


def filled(client, job, **values):
    return form_of(client, reverse("locates:ticket-add", args=[job.pk])) | {
        "number": "T1",
        "ticket_kind": "routine",
        "called_at": "2026-11-02T08:00",
        "legal_start_at": "2026-11-06T07:00",
        "expires_at": "2026-11-24T07:00",
        "boring_declared": "yes",
        "area": CORNERS,
        **values,
    }


def worked_out(client, job, typed):
    """The form again with the dates that follow from the call."""
    return client.post(reverse("locates:ticket-dates", args=[job.pk]), typed)


def sent(client, job, **values):
    """Work the dates out, look at them, and save."""
    typed = filled(client, job, **values)
    shown = controls_of(worked_out(client, job, typed)).get("shown_dates", "")
    return client.post(reverse("locates:ticket-add", args=[job.pk]), typed | {"shown_dates": shown})


def test_a_ticket_is_logged_in_the_time_zone_of_its_job(coordinator):
    job = small_job()
    response = sent(coordinator, job)
    assert response.url == reverse("conflicts:job", args=[job.pk]) + "#tickets"
    ticket = job.tickets.get(number="T1")
    assert ticket.legal_start_at == datetime(2026, 11, 6, 12, 0, tzinfo=UTC)
    assert (ticket.boring_declared, ticket.white_lined) == (True, None)
    assert [len(polygon.shell) for polygon in ticket.area] == [5]
    assert ticket.area[0].shell[0] == (-78.5001, 38.0001)
    assert Reassessment.objects.get().wanted == 1


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"number": " "}, "This field is required"),
        ({"expires_at": "2026-11-04T07:00"}, "Accepted is a value before \u201cExpires\u201d."),
        ({"called_at": "2026-11-01T01:30"}, "write 2026-11-01 01:30 EDT or 2026-11-01 01:30 EST"),
        ({"called_at": "2026-03-08T02:30"}, "the clocks go forward then"),
        ({"area": "38.0, -78.5\n38.1, -78.5"}, "three corners or more for each area"),
        ({"area": "-78.5, 38.0\n" * 3}, "which looks like a longitude"),
        ({"area": "0,0\n1,1\n0,1\n1,0"}, "boundary that crosses itself"),
        ({"area": ""}, "This field is required"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(coordinator, values, words):
    job = JobFactory()
    response = sent(coordinator, job, override_reason="Agreed with the centre.", **values)
    page = words_of(response)
    assert words in page
    assert "Agreed with the centre." in page
    assert 'value="2026-11-06T07:00"' in page
    assert not Ticket.objects.exists()


def test_an_hour_that_comes_twice_is_asked_for_in_a_box_that_takes_its_name(coordinator):
    job = JobFactory()
    page = words_of(sent(coordinator, job, called_at="2026-11-01T01:30"))
    assert '<input type="text" name="called_at" value="2026-11-01T01:30"' in page
    values = {"called_at": "2026-11-01 01:30 EST", "legal_start_at": ""}
    assert sent(coordinator, job, **values).status_code == 302
    url = reverse("locates:ticket-edit", args=[job.tickets.get().pk])
    assert form_of(coordinator, url)["called_at"] == "2026-11-01 01:30 EST"


def test_a_ticket_sent_back_as_it_was_shown_stays_the_same_to_the_last_digit(coordinator):
    ticket = TicketFactory(called_at=datetime(2026, 11, 2, 13, 0, 17, 250, tzinfo=UTC))
    url = reverse("locates:ticket-edit", args=[ticket.pk])
    assert coordinator.post(url, form_of(coordinator, url)).status_code == 302
    again = Ticket.objects.get()
    assert again.called_at == ticket.called_at
    assert bytes(again.area.wkb) == bytes(ticket.area.wkb)
    assert again.version == 2


def test_a_work_area_with_a_hole_is_shown_as_geojson_and_kept(coordinator):
    ring = [[0, 0], [0.1, 0], [0.1, 0.1], [0, 0.1], [0, 0]]
    hole = [[0.04, 0.04], [0.04, 0.06], [0.06, 0.06], [0.06, 0.04], [0.04, 0.04]]
    job = JobFactory()
    typed = f'{{"type": "Polygon", "coordinates": [{ring}, {hole}]}}'
    assert sent(coordinator, job, area=typed).status_code == 302
    url = reverse("locates:ticket-edit", args=[job.tickets.get().pk])
    assert form_of(coordinator, url)["area"].startswith('{"type": "MultiPolygon"')
    coordinator.post(url, form_of(coordinator, url))
    assert len(job.tickets.get().area[0]) == 2


def test_a_number_is_refused_while_a_live_ticket_of_the_job_has_it(coordinator):
    taken = TicketFactory(number="T1")
    assert "a number that no other ticket of the job has" in words_of(sent(coordinator, taken.job))
    assert sent(coordinator, JobFactory()).status_code == 302


def test_a_ticket_sent_twice_by_a_hurried_hand_is_stored_once(coordinator):
    job = JobFactory()
    url, values = reverse("locates:ticket-add", args=[job.pk]), filled(coordinator, job)
    values["shown_dates"] = controls_of(worked_out(coordinator, job, values))["shown_dates"]
    assert coordinator.post(url, values).url == coordinator.post(url, values).url
    assert job.tickets.count() == 1


@pytest.mark.parametrize("role", ["Foreman", "Safety manager"])
def test_whoever_may_not_call_in_tickets_sees_no_button_and_gets_no_form(client, role):
    ticket = TicketFactory()
    client.force_login(person_in_role(role))
    page = client.get(reverse("conflicts:job", args=[ticket.job_id])).content.decode()
    for name, key in (
        ("ticket-add", ticket.job_id),
        ("ticket-edit", ticket.pk),
        ("ticket-retire", ticket.pk),
    ):
        url = reverse(f"locates:{name}", args=[key])
        assert url not in page
        assert client.get(url).status_code == 403
        assert client.post(url).status_code == 403
    assert Ticket.objects.get().version == 1


def test_a_coordinator_finds_the_forms_on_the_page_of_the_job(coordinator):
    ticket = TicketFactory()
    page = coordinator.get(reverse("conflicts:job", args=[ticket.job_id])).content.decode()
    for name, key in (
        ("job-edit", ticket.job_id),
        ("ticket-add", ticket.job_id),
        ("ticket-edit", ticket.pk),
        ("ticket-retire", ticket.pk),
        ("response-add", ticket.pk),
        ("operator-add", ticket.job_id),
        ("requirement-add", ticket.job_id),
    ):
        assert reverse(f"locates:{name}", args=[key]) in page


def test_a_work_area_on_the_other_side_of_the_earth_is_refused_with_its_distance(coordinator):
    job = small_job()
    page = words_of(
        coordinator.post(
            reverse("locates:ticket-add", args=[job.pk]),
            filled(coordinator, job, area=CORNERS.replace("-78", "78")),
        )
    )
    assert "km from bore" in page
    assert "Accepted are corners near the job, latitude first." in page
    assert not job.tickets.filter(number="T1").exists()
