"""A bore entered in the admin is measured, checked and told of; computed figures are there to look at."""

import json

import pytest
from django.urls import reverse

from conflicts.models import Bore, Pit
from locates import changes
from locates.roles import COORDINATOR, FOREMAN
from tests import factories
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

EDITING = {"version", "edited_at", "edited_by_id"}


@pytest.fixture
def heard(monkeypatch):
    """Ids of the jobs of which the admin has told."""
    ids = []
    monkeypatch.setattr(changes, "_handlers", [ids.append])
    return ids


def text(geometry):
    return json.dumps({"type": geometry.geom_type, "coordinates": geometry.coords})


def page(record, name):
    return reverse(f"admin:conflicts_{record._meta.model_name}_{name}", args=[record.pk])


def entered(client, of_job, **values):
    """The answer to a bore of 100 m sent from the empty form."""
    url = reverse("admin:conflicts_bore_add")
    bore = {
        "job": of_job.pk,
        "name": "B-1",
        "alignment": text(factories.line((0, 0), (60, 0), (60, 40))),
        "final_diameter_m": "0.2",
        "profile_by": "depth",
        "profile_stations_m": "0,50,100",
        "profile_values_m": "0,2,0",
    }
    return client.post(url, form_of(client, url) | bore | values)


def test_a_bore_is_measured_on_the_ground(admin_client, heard):
    job = factories.JobFactory()
    assert entered(admin_client, job).status_code == 302
    bore = Bore.objects.get()
    # The frame of the bore has another centre than that of the place: scale within 1e-9 over 100 m.
    assert bore.alignment_length_m == pytest.approx(100.0, abs=1e-6)
    assert bore.profile_stations_m == [0.0, 50.0, 100.0]
    assert heard == [job.pk]


def test_the_ground_of_a_high_place_is_longer(admin_client):
    # 1 + 1,600 m / 6,371,009 m: 251 ppm.
    response = entered(admin_client, factories.JobFactory(mean_height_m=1600.0))
    assert "a last station within 1 cm of the alignment" in response.content.decode()
    high = entered(
        admin_client, factories.JobFactory(mean_height_m=1600.0), profile_stations_m="0,50,100.0251"
    )
    assert high.status_code == 302
    assert Bore.objects.get().alignment_length_m == pytest.approx(100.02511, abs=1e-5)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"profile_stations_m": "0,50,90"}, "a last station within 1 cm of the alignment"),
        ({"profile_stations_m": "0,50,40"}, "each beyond the one before"),
        ({"profile_values_m": "0,2"}, "as many values in profile_values_m as in profile_stations_m"),
        ({"profile_by": ""}, "one of profile and rods"),
        ({"rods_entry_elevation_m": "-2"}, "one of profile and rods"),
        ({"final_diameter_m": "0"}, "accepted is a number above 0"),
        ({"pilot_diameter_m": "0.3"}, "a value not after final_diameter_m"),
        ({"alignment": '{"type": "Point", "coordinates": [-78.5, 38.0]}'}, "accepted: the type LineString"),
        ({"alignment": ""}, "This field is required"),
        ({"job": ""}, "This field is required"),
    ],
)
def test_a_bore_that_cannot_be_is_refused_on_the_form(admin_client, heard, values, words):
    response = entered(admin_client, factories.JobFactory(), **values)
    assert response.status_code == 200
    assert words in response.content.decode()
    assert not Bore.objects.exists()
    assert heard == []


def test_a_bore_sent_back_unchanged_stays_the_same_to_the_last_digit(admin_client):
    bore = factories.RodBoreFactory(rod_headings_rad=[1.5707963267948966, None, None])
    before = Bore.objects.filter(pk=bore.pk).values().get()
    url = page(bore, "change")
    assert admin_client.post(url, form_of(admin_client, url)).status_code == 302
    after = Bore.objects.filter(pk=bore.pk).values().get()
    assert {name: value for name, value in after.items() if name not in EDITING} == {
        name: value for name, value in before.items() if name not in EDITING
    }


def test_a_moved_alignment_is_measured_again(admin_client, heard):
    bore = factories.BoreFactory()
    url = page(bore, "change")
    longer = {"alignment": text(factories.line((0, 0), (120, 0))), "profile_stations_m": "0,20,80,120"}
    assert admin_client.post(url, form_of(admin_client, url) | longer).status_code == 302
    bore.refresh_from_db()
    assert bore.alignment_length_m == pytest.approx(120.0, abs=1e-6)
    assert set(heard) == {bore.job_id}


def test_a_bore_stays_with_its_job_for_what_was_signed_about_it_names_that_job(admin_client):
    bore, other = factories.BoreFactory(), factories.JobFactory()
    url = page(bore, "change")
    values = form_of(admin_client, url) | {"job": other.pk, "product": "three conduits"}
    assert admin_client.post(url, values).status_code == 302
    was = bore.job_id
    bore.refresh_from_db()
    assert (bore.job_id, bore.product) == (was, "three conduits")


def test_a_pit_beside_its_bore_tells_of_the_job_and_stays(admin_client, heard):
    pit = factories.PitFactory()
    url = page(pit.bore, "change")
    values = form_of(admin_client, url) | {"pits-0-depth_m": "1.5", "pits-0-DELETE": "on"}
    assert admin_client.post(url, values).status_code == 302
    assert Pit.objects.get().depth_m == 1.5
    assert set(heard) == {pit.bore.job_id}


def test_neither_a_bore_nor_its_figures_are_deleted(admin_client, heard):
    crossing = factories.CrossingFactory()
    for record in (crossing.bore, crossing.assessment, crossing):
        assert admin_client.post(page(record, "delete"), {"post": "yes"}).status_code == 403
    assert heard == []


@pytest.mark.parametrize("name", ["assessment", "crossing"])
def test_nobody_writes_computed_figures(admin_client, name):
    crossing = factories.CrossingFactory()
    record = crossing if name == "crossing" else crossing.assessment
    assert admin_client.get(reverse(f"admin:conflicts_{name}_add")).status_code == 403
    url = page(record, "change")
    assert form_of(admin_client, url) == {}
    assert admin_client.post(url, {"sentence": "all is well"}).status_code == 403


def test_a_coordinator_plans_bores_and_a_foreman_looks_at_them(client):
    bore = factories.BoreFactory()
    client.force_login(factories.person_in_role(FOREMAN))
    assert client.get(page(bore, "change")).status_code == 200
    assert client.post(page(bore, "change"), {"name": "mine"}).status_code == 403
    client.force_login(factories.person_in_role(COORDINATOR))
    assert entered(client, bore.job).status_code == 302
    assert client.post(page(bore, "delete"), {"post": "yes"}).status_code == 403
