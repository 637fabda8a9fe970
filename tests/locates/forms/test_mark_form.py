"""A mark logged and changed: painted lines and points, drawn, walked, typed or by station and offset."""

import json

import pytest
from django.urls import reverse

from conflicts.models import Reassessment
from locates.models import Mark
from tests.factories import PLACE, BoreFactory, TestHoleFactory, person_in_role, small_job
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

LINE = "38.0001, -78.4996\n37.9999, -78.4996"
AREA = '{"type": "Polygon", "coordinates": [[[-78.4, 38], [-78.4, 38.1], [-78.3, 38], [-78.4, 38]]]}'


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman", username="pell"))
    return client


@pytest.fixture
def job():
    return small_job()


def words_of(response):
    return " ".join(response.content.decode().split())


def add_url(job):
    return reverse("locates:mark-add", args=[job.pk])


def filled(client, job, **values):
    return form_of(client, add_url(job)) | {
        "ref": "W-1",
        "operator": str(job.operators.get().pk),
        "facility_type": "potable_water",
        "marked_at": "2026-11-04T10:00",
        "is_intact": "yes",
        "geometry": LINE,
        **values,
    }


def sent(client, job, **values):
    return client.post(add_url(job), filled(client, job, **values))


def test_a_painted_line_is_logged_and_its_job_is_computed_anew(foreman, job):
    response = sent(foreman, job, stated_width_m="6 in")
    assert response.url == reverse("conflicts:job", args=[job.pk]) + "#marks"
    mark = job.marks.get(ref="W-1")
    assert mark.geometry.coords == ((-78.4996, 38.0001), (-78.4996, 37.9999))
    assert (mark.stated_width_m, mark.is_intact) == (pytest.approx(0.1524), True)
    assert Reassessment.objects.get().wanted == 1


def test_nobody_is_told_when_a_mark_was_painted_and_that_it_is_still_there(foreman, job):
    shown = form_of(foreman, add_url(job))
    assert (shown["marked_at"], shown.get("is_intact", "")) == ("", "")
    assert "This field is required" in words_of(sent(foreman, job, marked_at=""))
    sent(foreman, job, is_intact="")
    assert job.marks.get(ref="W-1").is_intact is None


def test_a_single_position_is_a_painted_point(foreman, job):
    assert sent(foreman, job, geometry="38.0001, -78.4996").status_code == 302
    assert job.marks.get(ref="W-1").geometry.geom_type == "Point"


def test_a_line_is_typed_as_stations_and_offsets_along_a_bore(foreman, job):
    stations = "1+00 L 20 ft\n1+00 R 20 ft\n1+10 R 30 ft"
    assert sent(foreman, job, geometry="", along_stations=stations).status_code == 302
    places = PLACE.to_ground(*zip(*job.marks.get(ref="W-1").geometry.coords, strict=True))
    assert places.ravel().tolist() == pytest.approx([30.48, 6.096, 30.48, -6.096, 33.528, -9.144], abs=0.002)


def test_with_two_bores_it_is_asked_whose_stations_they_are(foreman, job):
    other = BoreFactory(job=job, name="B-other")
    values = {"geometry": "", "along_stations": "1+00 L 20 ft\n1+00 R 20 ft"}
    assert "Choose the bore whose stations these are." in words_of(sent(foreman, job, **values))
    assert sent(foreman, job, along_bore=str(other.pk), **values).status_code == 302


def test_a_job_without_a_bore_asks_for_no_station(foreman, job):
    job.bores.get().delete()
    page = words_of(foreman.get(add_url(job)))
    assert "along_stations" not in page
    assert "Station and offset" not in page


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"ref": "M-taken"}, "a reference that no other mark of the job has"),
        ({"geometry": ""}, "Say where it is"),
        ({"geometry": "38.0001, -78.4996\nnorth"}, "line 2: found"),
        ({"geometry": "38.0001, -78.4996\n38.0001, -78.4996"}, "at least two distinct positions"),
        ({"stated_depth_m": "70 in 2"}, "is not a length"),
        (
            {"stated_depth_m": "70 ft"},
            "a water line at a depth of 70 ft 0 in; accepted: 19 ft 8 1/4 in at most",
        ),
        ({"re_marked_at": "2020-01-01T08:00"}, "Accepted is a value not after \u201cPainted again\u201d."),
        ({"geometry": AREA}, "Accepted is a LineString or a Point."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(foreman, job, values, words):
    job.marks.update(ref="M-taken")
    page = words_of(sent(foreman, job, located_by="Bright Locating, by wand", **values))
    assert words in page
    assert 'value="Bright Locating, by wand"' in page
    for text in values.values():
        assert " ".join(text.split()).replace('"', "&quot;") in page
    assert job.marks.count() == 1


def test_a_walked_line_is_no_surer_than_the_worst_fix_and_the_paint(foreman, job):
    walked = [["38.00010000", "-78.49960000", 2.0], ["37.99990000", "-78.49960000", 3.0]]
    place = {
        "geometry": "38.00010000, -78.49960000\n37.99990000, -78.49960000",
        "fixes": json.dumps([*walked, ["37.9", "-78.4", 90.0]]),
    }
    # 3.0 m of the phone and the rule's 2 ft of the paint.
    assert "accepted is 11 ft 10 1/8 in or more" in words_of(sent(foreman, job, **place))
    assert sent(foreman, job, horizontal_accuracy_m="11.9 ft", **place).status_code == 302


@pytest.mark.parametrize(
    "fixes", ["nonsense", "{}", "[[1]]", '[["a","b","c"]]', "[[1,2,NaN]]", "[" * 40_000, '[["a","b",-1]]']
)
def test_fixes_that_no_page_wrote_change_nothing(foreman, job, fixes):
    assert sent(foreman, job, fixes=fixes).status_code == 302


def test_a_mark_sent_back_as_it_was_shown_stays_the_same_to_the_last_digit(foreman, job):
    mark = job.marks.get()
    url = reverse("locates:mark-edit", args=[mark.pk])
    assert foreman.post(url, form_of(foreman, url)).status_code == 302
    again = job.marks.get()
    assert bytes(again.geometry.wkb) == bytes(mark.geometry.wkb)
    assert (again.stated_width_m, again.marked_at) == (mark.stated_width_m, mark.marked_at)


def test_what_another_put_on_the_map_meanwhile_is_shown_and_chosen(foreman, job):
    mark = job.marks.get()
    url = reverse("locates:mark-edit", args=[mark.pk])
    mine = form_of(foreman, url) | {"geometry": LINE}
    Mark.objects.get().save()
    Mark.objects.update(geometry="SRID=4326;LINESTRING(-78.4997 38.0001, -78.4997 37.9999)")
    page = words_of(foreman.post(url, mine))
    assert "Both of you changed" in page
    assert "38.00010000, -78.49970000" in page
    assert " ".join(LINE.split()) in page


def test_retiring_says_which_holes_name_the_mark_and_can_be_undone(foreman, job):
    mark = job.marks.get()
    TestHoleFactory(job=job, mark=mark)
    url = reverse("locates:mark-retire", args=[mark.pk])
    assert "2 test holes" in words_of(foreman.get(url))
    foreman.post(url, {"loose": "keep"})
    assert not job.marks.exists()
    foreman.post(reverse("locates:restore", args=[job.retirements.get().pk]))
    assert job.marks.get().test_holes.count() == 2


@pytest.mark.parametrize("name", ["ground-point", "linework", "ticket"])
def test_a_foreman_writes_what_is_found_on_the_ground_and_nothing_else(foreman, job, name):
    assert foreman.get(reverse(f"locates:{name}-add", args=[job.pk])).status_code == 403


def test_a_foreman_finds_the_forms_on_the_page_of_the_job(foreman, job):
    page = foreman.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    assert add_url(job) in page
    assert reverse("locates:mark-edit", args=[job.marks.get().pk]) in page
    assert reverse("locates:surface-feature-add", args=[job.pk]) in page
    assert reverse("locates:surface-feature-edit", args=[job.surface_features.get().pk]) in page
