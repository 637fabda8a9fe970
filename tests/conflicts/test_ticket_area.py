"""A ticket's work area as a corridor about a bore and its pits, filled into the form as it was typed."""

import pytest
from django.contrib.gis.geos import MultiPolygon
from django.urls import reverse

from conflicts.desk.corridor import corridor_about
from locates.models import Ticket
from tests.factories import (
    PLACE,
    BoreFactory,
    PitFactory,
    RodBoreFactory,
    box,
    person_in_role,
    point,
    small_job,
)
from tests.page_forms import controls_of, form_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator"))
    return client


def words_of(response):
    return " ".join(response.content.decode().split())


def ground_m(area: MultiPolygon):
    """Corners of the first part, in metres from the place."""
    longitudes, latitudes = zip(*area[0].shell.coords, strict=True)
    return PLACE.to_ground(longitudes, latitudes)


def test_a_corridor_reaches_the_distance_to_each_side_and_past_each_end():
    corners = ground_m(corridor_about(BoreFactory(), 3.0))
    assert corners.min(axis=0) == pytest.approx([-3.0, -3.0], abs=0.01)
    assert corners.max(axis=0) == pytest.approx([103.0, 3.0], abs=0.01)


def test_a_corridor_holds_the_pits_with_the_same_distance():
    bore = BoreFactory()
    PitFactory(bore=bore, area=box(-4, -2, 0, 2))
    corners = ground_m(corridor_about(bore, 3.0))
    assert corners.min(axis=0) == pytest.approx([-7.0, -5.0], abs=0.01)


def test_a_pit_far_from_the_bore_is_an_area_of_its_own():
    bore = BoreFactory()
    PitFactory(bore=bore, area=box(-40, -2, -30, 2))
    assert len(corridor_about(bore, 3.0)) == 2


def test_a_bore_planned_by_rods_is_followed_where_its_rods_go():
    bore = RodBoreFactory(rod_headings_rad=[1.5707963, 1.4, 1.4])
    area = corridor_about(bore, 3.0)
    assert area.contains(point(90, 9))
    assert not area.contains(point(100, 0))


def sent(client, job, url, **values):
    shown = form_of(client, url)
    return client.post(reverse("conflicts:ticket-area", args=[job.pk]), shown | values)


def test_the_form_comes_back_as_it_was_typed_with_the_corridor_and_saves(coordinator):
    job = small_job()
    url = reverse("locates:ticket-add", args=[job.pk])
    bore = job.bores.get()
    values = {
        "number": "T9",
        "ticket_kind": "routine",
        "called_at": "2026-11-02T08:00",
        "override_reason": "Typed.",
        "corridor_bore": str(bore.pk),
        "corridor_width": "10 ft",
    }
    response = sent(coordinator, job, url, **values)
    page = words_of(response)
    assert f"The corners are those of the corridor about {bore}. Nothing is saved yet." in page
    assert "Typed." in page
    assert not Ticket.objects.filter(number="T9").exists()

    assert f'action="{url}"' in page
    with_dates = coordinator.post(url, controls_of(response))
    assert "The dates are worked out now" in words_of(with_dates)
    assert coordinator.post(url, controls_of(with_dates)).status_code == 302
    ticket = job.tickets.get(number="T9")
    assert ground_m(ticket.area).max(axis=0)[1] == pytest.approx(3.048 + 1.0, abs=0.01)


def test_a_stored_ticket_keeps_its_version_while_its_area_is_computed(coordinator):
    job = small_job()
    ticket = job.tickets.get()
    url = reverse("locates:ticket-edit", args=[ticket.pk])
    response = sent(coordinator, job, url, corridor_bore=str(job.bores.get().pk), corridor_width="3 m")
    page = words_of(response)
    assert f'action="{url}"' in page
    assert f'name="version" value="{ticket.version}"' in page


@pytest.mark.parametrize(
    ("width", "words"),
    [("10", "The unit is missing"), ("", "it is empty"), ("0 m", "more than 0 and at most 100 m")],
)
def test_a_distance_that_cannot_be_is_refused_and_nothing_typed_is_lost(coordinator, width, words):
    job = small_job()
    url = reverse("locates:ticket-add", args=[job.pk])
    bore = str(job.bores.get().pk)
    page = words_of(sent(coordinator, job, url, number="T9", corridor_bore=bore, corridor_width=width))
    assert words in page
    assert 'value="T9"' in page


def test_a_bore_of_another_job_is_not_there(coordinator):
    job, other = small_job(), BoreFactory()
    url = reverse("locates:ticket-add", args=[job.pk])
    for key in (str(other.pk), "nothing"):
        assert sent(coordinator, job, url, corridor_bore=key, corridor_width="3 m").status_code == 404


def test_whoever_may_not_call_in_tickets_computes_no_area(client):
    job = small_job()
    client.force_login(person_in_role("Foreman"))
    assert client.post(reverse("conflicts:ticket-area", args=[job.pk])).status_code == 403
