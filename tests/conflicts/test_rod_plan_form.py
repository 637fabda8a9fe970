"""A bore planned joint by joint: typed in percent or degrees, told beside the box, kept to the last digit."""

import math

import pytest
from django.test import Client
from django.urls import reverse

from conflicts.models import Bore, Reassessment
from tests.factories import JobFactory, RodBoreFactory, person_in_role
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

# 87.8 m of alignment, due east.
ALIGNMENT = "38.0, -78.5\n38.0, -78.4990"
JOINTS = (("0 ft", "-10 %", ""), ("144 ft", "0 deg", "90 deg"), ("144 ft", "10 %", ""))


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


def words_of(response):
    return " ".join(response.content.decode().split())


def rods(*joints):
    return {
        f"rods-{number}-{part}": text
        for number, joint in enumerate(joints)
        for part, text in zip(("length", "pitch", "heading"), joint, strict=True)
    }


def add_url(job):
    return reverse("conflicts:bore-add", args=[job.pk])


def edit_url(bore):
    return reverse("conflicts:bore-edit", args=[bore.pk])


def sent(client, job, joints=JOINTS, **values):
    filled = form_of(client, add_url(job)) | {
        "name": "B-1",
        "final_diameter_m": "8 in",
        "alignment": ALIGNMENT,
        "plan_by": "rods",
        "rods_entry_elevation_m": "-1 ft",
        **rods(*joints),
        **values,
    }
    return client.post(add_url(job), filled)


def test_a_bore_is_planned_rod_by_rod(coordinator):
    job = JobFactory()
    assert sent(coordinator, job).status_code == 302
    bore = job.bores.get()
    assert bore.rod_lengths_m == pytest.approx([0.0, 43.8912, 43.8912])
    assert bore.rod_pitches_ratio == pytest.approx([-0.1, 0.0, 0.1])
    assert bore.rod_headings_rad == [None, pytest.approx(math.pi / 2), None]
    assert (bore.rods_entry_elevation_m, bore.profile_by) == (pytest.approx(-0.3048), "")
    assert bore.profile_stations_m == []
    assert Reassessment.objects.get().bore == bore


@pytest.mark.parametrize(
    ("joints", "values", "box", "words"),
    [
        ((("0 ft", "-10", ""), *JOINTS[1:]), {}, "0_pitch", "-12.5 % or as -7.1 degrees"),
        ((JOINTS[0], ("144", "0 %", ""), JOINTS[2]), {}, "1_length", "144 of what?"),
        ((*JOINTS[:2], ("144 ft", "10 %", "N 5 E")), {}, "2_heading", "clockwise from true north"),
        ((("5 ft", "-10 %", ""), *JOINTS[1:]), {}, "0_length", "0: the first joint is the entry point"),
        ((*JOINTS[:2], ("400 ft", "10 %", "")), {}, "2_length", "a rod with a length"),
        (JOINTS[:1], {}, "error", "Write 2 joints or more"),
        (JOINTS[:2], {}, "error", "end within a rod"),
        (JOINTS, {"rods_entry_elevation_m": ""}, None, "Write how high the hole begins"),
        (JOINTS, {"rods_entry_elevation_m": "90000 ft"}, None, "Elevation at the entry</a>: Found"),
    ],
)
def test_what_cannot_be_is_told_beside_its_box_and_nothing_typed_is_lost(
    coordinator, joints, values, box, words
):
    page = words_of(sent(coordinator, JobFactory(), joints, product="two 2 in conduits", **values))
    assert words in page
    if box:
        beside = page.split(f'id="id_rods_{box}"')[1].split("</p>")[0]
        assert words in beside
    for text in ("two 2 in conduits", *(text for joint in joints for text in joint if text)):
        assert f'value="{text}"' in page
    assert not Bore.objects.exists()


def test_a_profile_typed_before_rods_were_chosen_is_not_held_against_them(coordinator):
    job = JobFactory()
    leftover = {"profile-0-station": "oops", "profile-0-value": "6"}
    assert sent(coordinator, job, **leftover).status_code == 302
    assert job.bores.get().profile_values_m == []


def test_rods_sent_back_as_shown_stay_to_the_last_digit_though_a_joint_is_put_between(coordinator):
    lengths_m = [0.0, 30.00011, 30.00022, 39.99967]
    pitches = [-0.10003, 0.00004, 0.00004, 0.1]
    bore = RodBoreFactory(
        rod_lengths_m=lengths_m, rod_pitches_ratio=pitches, rod_headings_rad=[None, 1.57079, None, None]
    )
    shown = form_of(coordinator, edit_url(bore))
    assert shown["plan_by"] == "rods"
    assert coordinator.post(edit_url(bore), shown).status_code == 302
    again = Bore.objects.get()
    for name in ("rod_lengths_m", "rod_pitches_ratio", "rod_headings_rad", "rods_entry_elevation_m"):
        assert getattr(again, name) == getattr(bore, name)
    shown = form_of(coordinator, edit_url(bore))
    lines = [[shown[f"rods-{at}-{part}"] for part in ("length", "pitch", "heading")] for at in range(4)]
    lines.insert(2, ["1 m", "0 %", ""])
    assert coordinator.post(edit_url(bore), shown | rods(*lines)).status_code == 302
    again = Bore.objects.get()
    assert again.rod_lengths_m == [*lengths_m[:2], 1.0, *lengths_m[2:]]
    assert again.rod_pitches_ratio == [*pitches[:2], 0.0, *pitches[2:]]
    assert again.rod_headings_rad == [None, 1.57079, None, None, None]


def test_two_people_with_one_rod_plan_lose_nothing(coordinator):
    bore = RodBoreFactory()
    mine = form_of(coordinator, edit_url(bore)) | {"rods-1-pitch": "1 %"}
    other = Client()
    other.force_login(person_in_role("Coordinator", username="sam"))
    theirs = form_of(other, edit_url(bore)) | {"rods-1-pitch": "2 %"}
    assert other.post(edit_url(bore), theirs).status_code == 302
    page = words_of(coordinator.post(edit_url(bore), mine))
    assert "sam has changed this meanwhile" in page
    assert 'value="1 %"' in page
    assert "2.0 %" in page
    chosen = mine | {"version": "2", "clash": "rods", "settle-rods": "theirs"}
    assert coordinator.post(edit_url(bore), chosen).status_code == 302
    assert Bore.objects.get().rod_pitches_ratio[1] == pytest.approx(0.02)


def test_more_joints_are_asked_of_the_server_without_script(coordinator):
    job = JobFactory()
    page = words_of(sent(coordinator, job, (("oops", "", ""), *JOINTS), more_lines="1"))
    assert "Nothing is saved yet" not in page
    assert 'value="oops"' in page
    assert 'name="rods-6-heading"' in page
    assert page.split('value="rods"')[1].split(">")[0].endswith("checked")
