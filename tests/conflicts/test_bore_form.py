"""A bore planned and changed: its alignment, its profile by stations as people write them, its rig."""

import pytest
from django.test import Client
from django.urls import reverse

from conflicts.models import Bore, Reassessment
from tests.factories import BoreFactory, JobFactory, RodBoreFactory, person_in_role, small_job
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

ALIGNMENT = "38.0, -78.5\n38.0, -78.4990"
PROFILE = (("0", "0 ft"), ("0+50", "6 ft"), ("2+00", "6 ft"), ("end", "1 ft"))


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


@pytest.fixture
def job():
    return JobFactory()


def words_of(response):
    return " ".join(response.content.decode().split())


def table(*lines, name="profile"):
    boxes = {}
    for number, (station, value) in enumerate(lines):
        boxes |= {f"{name}-{number}-station": station, f"{name}-{number}-value": value}
    return boxes


def add_url(job):
    return reverse("conflicts:bore-add", args=[job.pk])


def edit_url(bore):
    return reverse("conflicts:bore-edit", args=[bore.pk])


def filled(client, job, lines=PROFILE, **values):
    return form_of(client, add_url(job)) | {
        "name": "B-1",
        "final_diameter_m": "8 in",
        "pilot_diameter_m": "4 in",
        "alignment": ALIGNMENT,
        "profile_by": "depth",
        **table(*lines),
        **values,
    }


def sent(client, job, lines=PROFILE, **values):
    return client.post(add_url(job), filled(client, job, lines, **values))


def test_a_bore_is_planned_with_a_profile_that_ends_with_its_alignment(coordinator, job):
    values = {"entry_pitch_ratio_min": "-25 %", "entry_pitch_ratio_max": "-10 %", "bend_radius_m": "100 ft"}
    response = sent(coordinator, job, planned_start_at="2026-11-10T08:00", **values)
    assert response.url == reverse("conflicts:job", args=[job.pk]) + "#bores"
    bore = job.bores.get()
    assert bore.final_diameter_m == pytest.approx(0.2032)
    assert bore.alignment_length_m == pytest.approx(87.8, abs=0.1)
    assert bore.profile_stations_m == pytest.approx([0.0, 15.24, 60.96, bore.alignment_length_m])
    assert bore.profile_values_m == pytest.approx([0.0, 1.8288, 1.8288, 0.3048])
    assert (bore.entry_pitch_ratio_min, bore.entry_pitch_ratio_max) == (-0.25, -0.1)
    assert Reassessment.objects.get().bore == bore


def test_lines_may_come_in_any_order_with_empty_ones_between_and_by_elevation(coordinator, job):
    lines = (("end", "-1 ft"), ("", ""), ("1+00", "-6'6\""), ("0", "0 m"))
    ground = table(("0", "0 ft"), ("1+00", "1 ft"), name="ground")
    assert sent(coordinator, job, lines, profile_by="elevation", **ground).status_code == 302
    bore = job.bores.get()
    assert bore.profile_values_m == pytest.approx([0.0, -1.9812, -0.3048])
    assert (bore.ground_stations_m, bore.ground_elevations_m) == (
        pytest.approx([0, 30.48]),
        pytest.approx([0, 0.3048]),
    )


@pytest.mark.parametrize(
    ("lines", "values", "words"),
    [
        ((), {}, "Found neither profile nor rods; accepted: one of the two."),
        ((("0", "0 ft"), ("0+50", "6"), ("end", "0 ft")), {}, "Line 2:"),
        ((("0", "0 ft"), ("50", "6 ft"), ("end", "0 ft")), {}, "write hundreds of feet and feet as 1+45.2"),
        ((("0", "0 ft"), ("0+050.0", "6 ft")), {}, "write hundreds of feet and feet as 1+45.2"),
        ((("0", "0 ft"), ("2+00", "6 ft")), {}, "stops short of the alignment&#x27;s end by 88 ft"),
        ((("0+10", "0 ft"), ("end", "6 ft")), {}, "Line 1: found a first station of 10 ft 0 in"),
        ((("0", "0 ft"), ("0+50", "1 ft"), ("0+50", "2 ft"), ("end", "0 ft")), {}, "Line 3: found station"),
        ((("end", "0 ft"), ("0+50", "400 ft"), ("0", "0 ft")), {}, "Line 2: found"),
        ((("end", "400 ft"), ("0+50", "6 ft"), ("0", "0 ft")), {}, "Line 1: found"),
        ((("0", "0 ft"), ("0+50", "400 ft"), ("end", "0 ft")), {}, "a bore 400 ft 0 in deep"),
        ((("0", "0 ft"), ("0+50", "-2 ft"), ("end", "0 ft")), {}, "2 ft 0 in above the ground"),
        (PROFILE, {"profile_by": ""}, "Choose what the lines give beside the station."),
        (PROFILE, {"alignment": ""}, "where the end is stands once the alignment is given"),
        (PROFILE, {"alignment": "38.0, -78.5"}, "two positions or more"),
        (
            PROFILE,
            {"final_diameter_m": "12 ft"},
            "a hole with a diameter of 12 ft 0 in; accepted: 9 ft 10 1/8 in",
        ),
        (PROFILE, {"pilot_diameter_m": "9 in"}, "Accepted is a value not after"),
        (PROFILE, {"entry_pitch_ratio_min": "-250 %"}, "Found -2.5; accepted: rise over run"),
        (PROFILE, {"bend_radius_m": "100"}, "100 of what?"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(coordinator, job, lines, values, words):
    page = words_of(sent(coordinator, job, lines, product="two 2 in conduits", **values))
    assert words in page
    assert 'value="two 2 in conduits"' in page
    for station, value in lines:
        assert f'value="{station}"' in page
        assert f'value="{value}"' in page
    assert not Bore.objects.exists()


def test_more_lines_are_asked_of_the_server_without_script_and_nothing_typed_is_lost(coordinator, job):
    typed = filled(coordinator, job, (("0", "0 ft"), ("", "3 ft"), ("oops", ""), ("3", "4"), ("5", "6")))
    response = coordinator.post(add_url(job), typed | {"more_lines": "1", "name": ""})
    page = words_of(response)
    assert "Nothing is saved yet" not in page
    assert 'name="profile-7-station"' in page
    assert 'name="profile-8-station"' not in page
    for text in ("oops", "3 ft", "8 in"):
        assert f'value="{text}"' in page
    assert f'name="new_id" value="{typed["new_id"]}"' in page
    assert not Bore.objects.exists()


def test_a_bore_sent_back_as_it_was_shown_stays_the_same_to_the_last_digit(coordinator):
    bore = BoreFactory(
        profile_values_m=[0.0, 2.0001, 1.98765, 0.0],
        ground_stations_m=[0.0, 33.3333],
        ground_elevations_m=[0.0, 0.12345],
    )
    shown = form_of(coordinator, edit_url(bore))
    assert shown["profile-3-station"] == "end"
    assert coordinator.post(edit_url(bore), shown).status_code == 302
    again = Bore.objects.get()
    for name in ("profile_stations_m", "profile_values_m", "ground_stations_m", "alignment_length_m"):
        assert getattr(again, name) == getattr(bore, name)
    assert (again.ground_elevations_m, again.version) == ([0.0, 0.12345], 2)


def test_one_line_changed_leaves_the_others_to_the_last_digit(coordinator):
    bore = BoreFactory(profile_values_m=[0.0, 2.0001, 1.98765, 0.0])
    typed = form_of(coordinator, edit_url(bore)) | {"profile-1-value": "7 ft"}
    assert coordinator.post(edit_url(bore), typed).status_code == 302
    again = Bore.objects.get()
    assert again.profile_values_m == [0.0, pytest.approx(2.1336), 1.98765, 0.0]
    assert again.profile_stations_m == bore.profile_stations_m


def test_the_profile_follows_the_end_of_an_alignment_that_is_drawn_anew(coordinator):
    bore = BoreFactory()
    typed = form_of(coordinator, edit_url(bore)) | {"alignment": ALIGNMENT}
    assert coordinator.post(edit_url(bore), typed).status_code == 302
    again = Bore.objects.get()
    assert again.profile_stations_m[-1] == again.alignment_length_m != bore.alignment_length_m


def test_a_bore_planned_rod_by_rod_keeps_its_rods_until_a_profile_takes_their_place(coordinator):
    bore = RodBoreFactory()
    typed = form_of(coordinator, edit_url(bore)) | {"product": "one conduit"}
    assert coordinator.post(edit_url(bore), typed).status_code == 302
    assert Bore.objects.get().rod_lengths_m == bore.rod_lengths_m
    typed = form_of(coordinator, edit_url(bore)) | {"plan_by": "vertices", "profile_by": "depth"}
    lines = table(("0", "6 ft"), ("end", "6 ft"))
    assert coordinator.post(edit_url(bore), typed | lines).status_code == 302
    again = Bore.objects.get()
    assert (again.profile_by, again.rod_lengths_m, again.rods_entry_elevation_m) == ("depth", [], None)


def test_two_people_with_one_profile_lose_nothing(coordinator):
    bore = BoreFactory()
    mine = form_of(coordinator, edit_url(bore)) | {"profile-1-value": "7 ft"}
    other = Client()
    other.force_login(person_in_role("Coordinator", username="sam"))
    theirs = form_of(other, edit_url(bore)) | {"profile-1-value": "8 ft"}
    assert other.post(edit_url(bore), theirs).status_code == 302
    page = words_of(coordinator.post(edit_url(bore), mine))
    assert "sam has changed this meanwhile" in page
    assert 'value="7 ft"' in page
    assert "8 ft 0 in" in page
    chosen = mine | {"version": "2", "clash": "profile", "settle-profile": "theirs"}
    assert coordinator.post(edit_url(bore), chosen).status_code == 302
    assert Bore.objects.get().profile_values_m[1] == pytest.approx(2.4384)


def test_a_retired_bore_takes_its_pits_along_and_brings_them_back(coordinator):
    bore = small_job().bores.get()
    url = reverse("conflicts:bore-retire", args=[bore.pk])
    assert "2 pits" in words_of(coordinator.get(url))
    coordinator.post(url)
    assert not Bore.objects.exists()
    assert coordinator.get(edit_url(bore)).status_code == 404
    coordinator.post(reverse("locates:restore", args=[bore.job.retirements.get().pk]))
    assert Bore.objects.get().pits.count() == 2


@pytest.mark.parametrize("role", ["Foreman", "Safety manager"])
def test_only_who_plans_bores_sees_and_opens_the_forms(client, role):
    bore = small_job().bores.get()
    client.force_login(person_in_role(role))
    pages = [
        client.get(reverse(f"conflicts:{name}", args=[key])).content.decode()
        for name, key in (("job", bore.job_id), ("bore", bore.pk))
    ]
    for name, key in (
        ("bore-add", bore.job_id),
        ("bore-edit", bore.pk),
        ("bore-retire", bore.pk),
        ("pit-add", bore.pk),
        ("pit-edit", bore.pits.first().pk),
        ("pit-retire", bore.pits.first().pk),
    ):
        url = reverse(f"conflicts:{name}", args=[key])
        assert not any(url in page for page in pages)
        assert client.get(url).status_code == 403
        assert client.post(url).status_code == 403


def test_a_coordinator_finds_the_forms_on_the_pages_of_the_job_and_of_the_bore(coordinator):
    bore = small_job().bores.get()
    job_page = coordinator.get(reverse("conflicts:job", args=[bore.job_id])).content.decode()
    assert add_url(bore.job) in job_page
    bore_page = coordinator.get(reverse("conflicts:bore", args=[bore.pk])).content.decode()
    assert edit_url(bore) in bore_page
    assert reverse("conflicts:pit-edit", args=[bore.pits.first().pk]) in bore_page
