"""A test hole logged and changed: what it found, its depth as people write it, and where it is."""

import json

import pytest
from django.test import Client
from django.urls import reverse

from conflicts.models import Reassessment
from locates.desk.retire import retire
from locates.models import TestHole
from tests.factories import PLACE, TestHoleFactory, person_in_role, small_job
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db


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
    return reverse("locates:test-hole-add", args=[job.pk])


def filled(client, job, **values):
    return form_of(client, add_url(job)) | {
        "ref": "TH-7",
        "mark": str(job.marks.get().pk),
        "found": "yes",
        "depth_to_top_m": "3'2\"",
        "outside_width_m": "4 1/2 in",
        "position": "38.00001, -78.49943",
        **values,
    }


def sent(client, job, **values):
    return client.post(add_url(job), filled(client, job, **values))


def metres_from_entry(hole):
    return PLACE.to_ground(hole.position.x, hole.position.y)[0].tolist()


def test_a_hole_is_logged_with_its_depth_as_the_tape_says_it(foreman, job):
    response = sent(foreman, job)
    assert response.url == reverse("conflicts:job", args=[job.pk]) + "#test-holes"
    hole = job.test_holes.get(ref="TH-7")
    assert hole.depth_to_top_m == pytest.approx(0.9652)
    assert hole.outside_width_m == pytest.approx(0.1143)
    assert (hole.position.x, hole.position.y) == (-78.49943, 38.00001)
    # Whether it is open nobody said, and an unknown is never a yes.
    assert (hole.measured_by, hole.is_open, hole.edited_by.username) == ("pell", None, "pell")
    assert Reassessment.objects.get().wanted == 1


def test_the_form_opens_with_the_next_number_the_time_and_the_mark_that_is_to_be_exposed(foreman, job):
    job.test_holes.update(ref="TH-2")
    TestHoleFactory(job=job, ref="TH-09")
    mark = job.marks.get()
    shown = form_of(foreman, f"{add_url(job)}?mark={mark.ref}")
    assert shown["ref"] == "TH-10"
    assert shown["mark"] == str(mark.pk)
    assert shown["measured_at"]
    assert "found" not in shown


def test_a_hole_is_placed_by_station_and_offset_along_the_bore(foreman, job):
    assert sent(foreman, job, position="", along_stations="1+00 R 3 ft").status_code == 302
    hole = job.test_holes.get(ref="TH-7")
    assert metres_from_entry(hole) == pytest.approx([30.48, -0.9144], abs=0.002)


def test_a_hole_that_found_nothing_says_how_deep_it_was_dug(foreman, job):
    nothing = {"found": "no", "depth_to_top_m": "", "outside_width_m": ""}
    assert "a depth wherever the hole found no line" in words_of(sent(foreman, job, **nothing))
    assert sent(foreman, job, dug_depth_m="5 ft", **nothing).status_code == 302
    hole = job.test_holes.get(ref="TH-7")
    assert (hole.found, hole.depth_to_top_m, hole.dug_depth_m) == (False, None, pytest.approx(1.524))


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"found": ""}, "This field is required"),
        ({"depth_to_top_m": ""}, "Accepted is a depth wherever the hole found a line."),
        ({"depth_to_top_m": "3.2"}, "3.2 of what? The unit is missing"),
        ({"depth_to_top_m": "38 ft"}, "a gas, oil or steam line at a depth of 38 ft 0 in; accepted: 19 ft"),
        ({"outside_width_m": "0 in"}, "Accepted is a number above 0."),
        ({"position": ""}, "Say where it is: type positions, type station and offset,"),
        ({"position": "-78.49943, 38.00001"}, "which looks like a longitude"),
        ({"position": "39.00001, -78.49943"}, "km from the rest of the job"),
        ({"position": "", "along_stations": "1+00.5 X"}, "such as 1+45.2 R 3 ft"),
        ({"position": "", "along_stations": "9+00"}, "0+00.0 to 3+28.1, the end of"),
        ({"position": "", "along_stations": "0+044.3"}, "write hundreds of feet and feet as 1+45.2"),
        ({"along_stations": "1+00 R 3 ft"}, "Say the place once"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(foreman, job, values, words):
    response = sent(foreman, job, measured_how="caliper and tape", **values)
    page = words_of(response)
    assert words in page
    assert 'value="caliper and tape"' in page
    for text in values.values():
        assert not text or text.replace('"', "&quot;") in page
    assert not TestHole.objects.filter(ref="TH-7").exists()


def test_a_place_by_phone_is_no_surer_than_the_phone(foreman, job):
    place = {"position": "38.00001000, -78.49943000"}
    place["fixes"] = json.dumps([["38.00001000", "-78.49943000", 3.2]])
    page = words_of(sent(foreman, job, **place))
    assert "The phone&#x27;s position may be off by 10 ft 6 in: accepted is 10 ft 6 in or more" in page
    assert "-78.49943000&quot;, 3.2]]" in page
    assert "10 ft 6 in or more" in words_of(sent(foreman, job, error_m="1 ft", **place))
    assert sent(foreman, job, error_m="10.5 ft", **place).status_code == 302


def test_a_place_typed_over_the_phones_is_a_persons_own(foreman, job):
    fixes = json.dumps([["38.00001000", "-78.49943000", 3.2]])
    assert sent(foreman, job, fixes=fixes, position="38.00002, -78.49943").status_code == 302


def test_a_hole_sent_back_as_it_was_shown_stays_the_same_to_the_last_digit(foreman, job):
    hole = job.test_holes.get()
    url = reverse("locates:test-hole-edit", args=[hole.pk])
    assert foreman.post(url, form_of(foreman, url)).status_code == 302
    again = TestHole.objects.get(pk=hole.pk)
    assert bytes(again.position.wkb) == bytes(hole.position.wkb)
    assert (again.depth_to_top_m, again.measured_at, again.version) == (0.9, hole.measured_at, 2)


def test_a_stored_hole_is_moved_by_station_without_emptying_its_position(foreman, job):
    hole = job.test_holes.get()
    url = reverse("locates:test-hole-edit", args=[hole.pk])
    assert foreman.post(url, form_of(foreman, url) | {"along_stations": "1+00"}).status_code == 302
    assert metres_from_entry(job.test_holes.get()) == pytest.approx([30.48, 0.0], abs=0.002)


def test_two_people_with_one_hole_lose_nothing(foreman, job):
    url = reverse("locates:test-hole-edit", args=[job.test_holes.get().pk])
    mine = form_of(foreman, url) | {"depth_to_top_m": "3 ft", "material": "steel"}
    other = Client()
    other.force_login(person_in_role("Coordinator", username="ruth"))
    assert other.post(url, form_of(other, url) | {"depth_to_top_m": "4 ft"}).status_code == 302
    page = words_of(foreman.post(url, mine))
    assert "ruth has changed this meanwhile" in page
    assert "Theirs: <b>4 ft 0 in</b>" in page
    assert 'value="steel"' in page
    assert TestHole.objects.get().depth_to_top_m == pytest.approx(1.2192)


def test_a_retired_hole_is_brought_back(foreman, job):
    hole = job.test_holes.get()
    retired = foreman.post(reverse("locates:test-hole-retire", args=[hole.pk]), follow=True)
    assert "Retired: Test hole" in words_of(retired)
    assert not job.test_holes.exists()
    assert foreman.get(reverse("locates:test-hole-edit", args=[hole.pk])).status_code == 404
    foreman.post(reverse("locates:restore", args=[job.retirements.get().pk]))
    assert job.test_holes.get() == hole


def test_a_hole_retired_meanwhile_keeps_what_was_typed_in_sight(foreman, job):
    hole = job.test_holes.get()
    url = reverse("locates:test-hole-edit", args=[hole.pk])
    mine = form_of(foreman, url) | {"material": "steel"}
    retire(hole, by=person_in_role("Coordinator"))
    page = words_of(foreman.post(url, mine))
    assert "is retired; bring it back first" in page
    assert 'value="steel"' in page


def test_a_hole_sent_twice_by_a_hurried_thumb_is_stored_once(foreman, job):
    values = filled(foreman, job)
    assert foreman.post(add_url(job), values).url == foreman.post(add_url(job), values).url
    assert job.test_holes.filter(ref="TH-7").count() == 1


def test_a_safety_manager_reads_and_writes_nothing(client, job):
    client.force_login(person_in_role("Safety manager"))
    hole = job.test_holes.get()
    page = client.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    for url in (add_url(job), reverse("locates:test-hole-edit", args=[hole.pk])):
        assert url not in page
        assert client.get(url).status_code == 403
        assert client.post(url).status_code == 403


def test_a_foreman_finds_the_form_on_the_page_of_the_job(foreman, job):
    page = foreman.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    assert add_url(job) in page
    assert reverse("locates:test-hole-edit", args=[job.test_holes.get().pk]) in page
