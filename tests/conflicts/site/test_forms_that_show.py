"""A form that does not say what its page showed signs nothing, says so, and keeps what was typed."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.models import CrossingWatch, Release, Variance
from locates.local_time import write_local
from locates.models import LedgerEntry, Photo
from tests import factories
from tests.page_forms import form_of
from tests.photo_files import photo_upload
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

WATCHED = {"seen": "yes", "gap_m": "2 ft 1 in", "remarks": "By the red flag."}
ASKED = {"what": "watch:0:pilot", "reason": "Watched all day by two people.", "evidence": "By the drawing."}
UNREADABLE = ("x", f"{uuid4()} crossing", f"{uuid4()} crossing far")


@pytest.fixture
def bore(client):
    client.force_login(factories.person_in_role("Foreman"))
    return bore_of_today()


def shift_of(bore):
    now, zone = timezone.now(), bore.job.time_zone
    return {
        "shift_from": write_local(now, zone),
        "shift_until": write_local(now + timedelta(hours=4), zone),
        "crew": "Crew of the valley",
        "rig": "Rig 7",
        "password": factories.PASSWORD,
    }


def the_form(name, bore):
    """Address, hidden field, what somebody types, and what is stored by it."""
    return {
        "release": (reverse("conflicts:release-sign", args=[bore.pk]), "shown", shift_of(bore), Release),
        "variance": (reverse("conflicts:variance-ask", args=[bore.pk]), "shown", ASKED, Variance),
        "watch": (
            reverse("conflicts:watch", args=[bore.pk, 0, "pilot"]),
            "crossing",
            WATCHED,
            CrossingWatch,
        ),
    }[name]


@pytest.mark.parametrize("name", ["release", "variance", "watch"])
@pytest.mark.parametrize("held", [None, "", "  "])
def test_a_form_without_what_its_page_showed_is_refused_until_it_says_so(client, bore, name, held):
    address, field, typed, kind = the_form(name, bore)
    controls = {**form_of(client, address), **typed}
    assert controls.pop(field)
    answer = client.post(address, controls if held is None else controls | {field: held})
    text = answer.content.decode()
    assert f"its hidden field “{field}” holds nothing" in text
    assert all(words in text for key, words in typed.items() if key not in ("password", "what", "seen"))
    assert not kind.objects.exists()
    assert not LedgerEntry.objects.exclude(kind="walk").exists()
    again = form_of(client, address)
    assert client.post(address, {**again, **typed}).status_code == 302
    assert kind.objects.count() == 1


@pytest.mark.parametrize("name", ["release", "variance", "watch"])
def test_a_form_that_sends_nothing_at_all_is_told_so(client, bore, name):
    address, field, _, kind = the_form(name, bore)
    assert f"its hidden field “{field}” holds nothing" in client.post(address, {}).content.decode()
    assert not kind.objects.exists()


def test_what_stands_under_the_refusal_can_be_signed(client, bore):
    address, _, typed, kind = the_form("watch", bore)
    refused = client.post(address, typed)
    shown = f"{bore.job.marks.get().pk} crossing "
    assert f'name="crossing" value="{shown}' in refused.content.decode()
    assert not kind.objects.exists()


def test_every_fault_is_told_at_once(client, bore):
    address, _, typed, _ = the_form("watch", bore)
    text = client.post(address, {**typed, "gap_m": "far"}).content.decode()
    assert "its hidden field “crossing” holds nothing" in text
    assert 'href="#id_gap_m"' in text


def test_no_photo_is_kept_of_a_watch_that_is_refused(client, bore):
    address, _, typed, kind = the_form("watch", bore)
    client.post(address, {**typed, "photos": photo_upload()})
    assert not Photo.objects.exists()
    assert not kind.objects.exists()


@pytest.mark.parametrize("words", UNREADABLE)
def test_a_crossing_that_cannot_be_read_is_told_with_what_was_found(client, bore, words):
    address, _, typed, kind = the_form("watch", bore)
    text = client.post(address, {**typed, "crossing": words}).content.decode()
    assert f"its hidden field “crossing” holds “{words}”" in text
    assert typed["remarks"] in text
    assert not kind.objects.exists()


@pytest.mark.parametrize("what", ["check:watch_holes", "watch:0:pilot"])
def test_a_variance_for_a_check_is_asked_for_on_what_was_shown_too(client, bore, what):
    address, _, typed, kind = the_form("variance", bore)
    assert (
        "does not say what its page showed" in client.post(address, {**typed, "what": what}).content.decode()
    )
    assert not kind.objects.exists()
