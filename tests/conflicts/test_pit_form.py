"""A pit logged and changed: its corners, or its length and width at an end of the bore."""

import pytest
from django.urls import reverse

from conflicts.desk.pit_at_end import pit_at_end
from conflicts.models import Pit
from tests.factories import PLACE, BoreFactory, line, person_in_role, small_job
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

CORNERS = "38.00001, -78.50002\n38.00001, -78.5\n37.99999, -78.5\n37.99999, -78.50002"


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


def words_of(response):
    return " ".join(response.content.decode().split())


def metres(area):
    longitudes, latitudes = zip(*area.shell.coords[:-1], strict=True)
    return sorted(PLACE.to_ground(longitudes, latitudes).round(3).tolist())


def add_url(bore):
    return reverse("conflicts:pit-add", args=[bore.pk])


def sent(client, bore, **values):
    return client.post(add_url(bore), form_of(client, add_url(bore)) | {"end": "entry", **values})


@pytest.mark.parametrize(
    ("end", "corners"),
    [
        ("entry", [[-3.0, -1.0], [-3.0, 1.0], [0.0, -1.0], [0.0, 1.0]]),
        ("exit", [[99.0, 40.0], [99.0, 43.0], [101.0, 40.0], [101.0, 43.0]]),
    ],
)
def test_a_pit_of_length_and_width_goes_on_away_from_the_end_of_the_bore(end, corners):
    bore = BoreFactory(alignment=line((0, 0), (100, 0), (100, 40)))
    area = pit_at_end(bore, end, 3.0, 2.0)
    assert [pytest.approx(corner, abs=0.002) for corner in corners] == metres(area)


def test_a_pit_is_logged_by_its_size(coordinator):
    bore = BoreFactory()
    response = sent(coordinator, bore, pit_length_m="10 ft", pit_width_m="5 ft", depth_m="4'6\"")
    assert response.url == reverse("conflicts:bore", args=[bore.pk])
    pit = bore.pits.get()
    assert pit.depth_m == pytest.approx(1.3716)
    assert metres(pit.area)[0] == pytest.approx([-3.048, -0.762], abs=0.002)


def test_a_pit_is_logged_by_its_corners(coordinator):
    bore = BoreFactory()
    assert sent(coordinator, bore, area=CORNERS).status_code == 302
    assert len(bore.pits.get().area.shell) == 5


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({}, "write length and width, type its corners, or draw it"),
        ({"pit_length_m": "10 ft"}, "Accepted is a length above 0, at most 164 ft"),
        ({"pit_length_m": "10 ft", "pit_width_m": "0 ft"}, "Accepted is a length above 0"),
        ({"pit_length_m": "10 ft", "pit_width_m": "5"}, "5 of what?"),
        ({"pit_length_m": "10 ft", "pit_width_m": "5 ft", "area": CORNERS}, "Say the place once"),
        ({"area": "0,0\n1,1\n0,1\n1,0"}, "boundary that crosses itself"),
        ({"area": CORNERS, "depth_m": "60 ft"}, "a pit with a depth of 60 ft 0 in; accepted: 49 ft"),
        ({"area": CORNERS, "end": ""}, "This field is required"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(coordinator, values, words):
    page = words_of(sent(coordinator, BoreFactory(), **{"depth_m": "4.25 ft", **values}))
    assert words in page
    for text in values.values():
        assert " ".join(text.split()) in page
    assert not Pit.objects.exists()


def test_a_second_pit_at_one_end_is_refused(coordinator):
    bore = small_job().bores.get()
    assert "one pit at each end of a bore" in words_of(sent(coordinator, bore, area=CORNERS))


def test_a_stored_pit_gets_another_size_and_is_retired_and_brought_back(coordinator):
    bore = small_job().bores.get()
    pit = bore.pits.get(end="exit")
    url = reverse("conflicts:pit-edit", args=[pit.pk])
    shown = form_of(coordinator, url)
    assert coordinator.post(url, shown).status_code == 302
    assert bytes(bore.pits.get(end="exit").area.wkb) == bytes(pit.area.wkb)
    sized = form_of(coordinator, url) | {"pit_length_m": "3 m", "pit_width_m": "2 m"}
    assert coordinator.post(url, sized).status_code == 302
    assert metres(bore.pits.get(end="exit").area)[-1] == pytest.approx([103.0, 1.0], abs=0.002)
    coordinator.post(reverse("conflicts:pit-retire", args=[pit.pk]))
    assert bore.pits.count() == 1
    coordinator.post(reverse("locates:restore", args=[bore.job.retirements.get().pk]))
    assert bore.pits.count() == 2
