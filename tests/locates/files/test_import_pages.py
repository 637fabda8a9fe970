"""The import page by page, as a browser without script walks it; and who may."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from conflicts.models import Reassessment
from locates.models import TestHole, VectorImport
from locates.tasks import SWEEP_IMPORTS_TASK, sweep_imports
from tests import factories
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return factories.small_job()


@pytest.fixture
def coordinator(client):
    person = factories.person_in_role("Coordinator")
    client.force_login(person)
    return person


def survey(job, *, found="Y", depth="3.5", name="holes.csv"):
    place = factories.point(50, 1)
    mark = job.marks.get().ref
    row = f"H8,{place.x!r},{place.y!r},{found},{depth},11/06/2026,{mark}"
    text = f"Hole,lon,lat,Found,Depth_ft,Date,Mark\n{row}\n"
    return SimpleUploadedFile(name, text.encode(), content_type="text/csv")


def bring(client, job, kind="test_hole", **values):
    """Send a file in, and give the address that the browser is led to."""
    sent = {"kind": kind, "file": survey(job, **values)}
    response = client.post(reverse("locates:import", args=[job.pk]), sent)
    assert response.status_code == 302, response.context["form"].errors
    return response.url


def choose(client, address, **values):
    """Send the form of a page with what it shows and some values more, and give where it leads."""
    response = client.post(address, {**form_of(client, address), **values})
    assert response.status_code == 302, response.context["form"].errors
    return response.url


def to_the_check(client, job, **values):
    columns = bring(client, job, **values)
    choices = {"epsg": "4326", "unit": "degree", "date_order": "mdy", "depth_to_top_m-unit": "us_survey_foot"}
    return choose(client, choose(client, columns, **choices))


def test_a_file_goes_through_columns_values_and_check_into_the_job(client, coordinator, job):
    check = to_the_check(client, job)
    page = client.get(check).content.decode()
    assert "3 ft 6 in" in page
    assert "The nearest lies" in page
    assert f"from bore {job.bores.get().name}" in page
    assert "Nov 6, 2026, 12:00 am EST" in page
    assert not TestHole.objects.filter(ref="H8").exists()
    result = client.post(check).url
    hole = TestHole.objects.get(job=job, ref="H8")
    assert hole.edited_by == coordinator
    assert hole.depth_to_top_m == pytest.approx(3.5 * 1200 / 3937, abs=1e-12)
    assert Reassessment.objects.filter(bore__job=job).exists()
    assert "Stored: 1 test hole" in client.get(result).content.decode()


def test_a_file_that_is_sent_twice_is_stored_once(client, coordinator, job):
    check = to_the_check(client, job)
    assert client.post(check).url == client.post(check).url
    assert TestHole.objects.filter(ref="H8").count() == 1
    brought = VectorImport.objects.get()
    assert (bytes(brought.content), brought.stored_count) == (b"", 1)
    assert client.get(check).status_code == 302


def test_no_unit_is_chosen_beforehand_and_none_is_refused(client, coordinator, job):
    columns = bring(client, job)
    shown = form_of(client, columns)
    assert (shown.get("unit", ""), shown.get("depth_to_top_m-unit", "")) == ("", "")
    response = client.post(columns, {**shown, "epsg": "2277"})
    assert response.status_code == 200
    assert "unit" in response.context["form"].errors
    assert response.context["form"].errors["depth_to_top_m-unit"] == [
        "There are numbers without a unit: say what they are in."
    ]


@pytest.mark.parametrize(
    ("values", "field", "told"),
    [
        ({"epsg": "999999"}, "epsg", "which there is not"),
        ({"unit": "m"}, "unit", "is in degrees"),
        ({"x": ""}, "x", "Choose the column."),
        ({"x": "lat"}, "y", "another column"),
        ({"found-from": "none"}, "found-from", "Every test hole needs it."),
        ({"ref-from": "fixed", "ref-text": ""}, "ref-text", "Write the value"),
    ],
)
def test_a_choice_that_cannot_be_is_told_beside_its_field(client, coordinator, job, values, field, told):
    columns = bring(client, job)
    sent = {
        **form_of(client, columns),
        "epsg": "4326",
        "unit": "degree",
        "depth_to_top_m-unit": "foot",
        **values,
    }
    response = client.post(columns, sent)
    assert told in response.context["form"].errors[field][0]


def test_what_the_file_suggests_is_told_chosen_by_nobody_and_asked_for(client, coordinator, job):
    columns = bring(client, job)
    page = client.get(columns).content.decode()
    assert "suggests international feet: choose them if it is so" in page
    assert "Is 11/06/2026 month first or day first?" in page
    shown = form_of(client, columns)
    assert (shown["depth_to_top_m-unit"], shown["date_order"]) == ("", "")
    chosen = shown | {"epsg": "4326", "unit": "degree", "depth_to_top_m-unit": "us_survey_foot"}
    refused = client.post(columns, chosen)
    assert "Say in which order 11/06/2026 is written." in refused.context["form"].errors["date_order"][0]
    assert VectorImport.objects.get().mapping["date_order"] == ""
    assert client.post(columns, chosen | {"date_order": "dmy"}).status_code == 302


def test_what_is_wrong_in_a_row_is_told_and_cannot_be_stored(client, coordinator, job):
    check = to_the_check(client, job, depth="350")
    page = client.get(check).content.decode()
    assert "row 2, column Depth_ft: found 106.68" in page
    assert "Store 1" not in page
    assert "row 2" in client.post(check).content.decode()
    assert not TestHole.objects.filter(ref="H8").exists()


def test_a_file_that_cannot_be_read_is_told_beside_the_file(client, coordinator, job):
    sent = {"kind": "mark", "file": survey(job, name="holes.xlsx")}
    response = client.post(reverse("locates:import", args=[job.pk]), sent)
    assert "accepted: CSV, GeoJSON" in response.context["form"].errors["file"][0]
    assert not VectorImport.objects.exists()


def test_a_foreman_brings_marks_and_test_holes_alone(client, job):
    client.force_login(factories.person_in_role("Foreman"))
    page = client.get(reverse("locates:import", args=[job.pk]))
    assert [name for name, _ in page.context["form"].fields["kind"].choices] == ["mark", "test_hole"]
    sent = {"kind": "ground_point", "file": survey(job)}
    assert client.post(reverse("locates:import", args=[job.pk]), sent).status_code == 200
    assert not VectorImport.objects.exists()


def test_a_safety_manager_brings_nothing_but_may_take_all_out(client, job):
    client.force_login(factories.person_in_role("Safety manager"))
    assert client.get(reverse("locates:import", args=[job.pk])).status_code == 403
    assert client.get(reverse("locates:export", args=[job.pk])).status_code == 200


def test_nobody_sees_what_another_person_brought(client, coordinator, job):
    check = to_the_check(client, job)
    client.force_login(factories.person_in_role("Coordinator"))
    assert client.get(check).status_code == 404
    assert client.post(check).status_code == 404
    assert not TestHole.objects.filter(ref="H8").exists()


def test_what_was_not_stored_in_time_is_gone_and_swept(client, coordinator, job, settings):
    check = to_the_check(client, job)
    VectorImport.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert client.get(check).status_code == 404
    assert SWEEP_IMPORTS_TASK in {entry["task"] for entry in settings.CELERY_BEAT_SCHEDULE.values()}
    sweep_imports()
    assert not VectorImport.objects.exists()


def test_a_new_operator_is_made_only_when_a_person_says_so(client, coordinator, job):
    place = factories.point(5, 1)
    text = f"ref,lon,lat,type,owner,painted\nM8,{place.x!r},{place.y!r},W,Quarry Water,2026-11-04\n"
    sent = {"kind": "mark", "file": SimpleUploadedFile("marks.csv", text.encode())}
    columns = client.post(reverse("locates:import", args=[job.pk]), sent).url
    values = choose(client, columns, epsg="4326", unit="degree")
    shown = form_of(client, values)
    assert shown["facility_type-0"] == "potable_water"
    assert client.post(values, {**shown, "operator-0": ""}).status_code == 200
    check = choose(client, values, **{"operator-0": "new operator"})
    client.post(check)
    assert job.marks.get(ref="M8").operator.name == "Quarry Water"


@pytest.mark.parametrize("query", ["kind=test_hole&format=gpx&epsg=4326", "kind=mark&format=csv&epsg=2284"])
def test_an_export_is_sent_as_a_file(client, coordinator, job, query):
    response = client.get(f"{reverse('locates:export', args=[job.pk])}?{query}")
    assert response.status_code == 200
    assert response["Content-Disposition"].startswith("attachment; filename=")


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("kind=mark&format=gpx&epsg=4326", "which carries points"),
        ("kind=test_hole&format=csv&epsg=abc", "EPSG code"),
        ("kind=test_hole&format=csv&epsg=26777", "not known here"),
    ],
)
def test_an_export_that_cannot_be_is_told(client, coordinator, job, query, told):
    response = client.get(f"{reverse('locates:export', args=[job.pk])}?{query}")
    assert told in response.content.decode()


def test_the_whole_job_is_sent_as_a_job_file(client, coordinator, job):
    response = client.get(reverse("conflicts:job-file", args=[job.pk]))
    assert response.json()["job"]["name"] == job.name
    assert {one["properties"]["kind"] for one in response.json()["features"]} >= {"bore", "mark", "test_hole"}
