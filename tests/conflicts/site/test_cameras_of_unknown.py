"""A line of unknown type may be a gravity sewer: it is looked into, or a variance says why not."""

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.models import CameraInspection
from locates.models import Mark
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.passes.test_passes_made_anew import looked
from tests.conflicts.site.test_closing_faults import PASSES, close, excuse, missing
from tests.conflicts.site.test_lost_stops import see
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A released bore over one line of unknown type at 50 m, watched by all passes."""
    stored, person = bore_of_today(), factories.PersonFactory()
    call("unknown", stored)
    stood(stored)
    for pass_made in PASSES:
        see(stored, person, pass_made)
    return stored


def call(facility_type, bore):
    mark = Mark.objects.get()
    mark.facility_type = facility_type
    mark.save()
    store_assessment(bore.pk)


def excuse_camera(bore):
    return excuse(bore, subject="check", check_code="camera")


def test_it_is_asked_for_its_camera_and_told_why(bore):
    ref = Mark.objects.get().ref
    [words] = missing(bore)
    why = f"{ref}, of unknown type: it may be a gravity sewer."
    assert words == f"No camera inspection after the bore of the sewer: {why}"
    looked(bore, timezone.now())
    assert close(bore, factories.PersonFactory()).pk


def test_a_variance_excuses_it_until_the_line_is_called_a_sewer(bore):
    signature = excuse_camera(bore)
    assert "it may be a gravity sewer" in signature.variance.bound_words()
    assert missing(bore) == []
    call("sewer_drain", bore)
    assert "No camera inspection after the bore of the sewer" in " ".join(missing(bore))
    call("unknown", bore)
    assert close(bore, factories.PersonFactory()).pk


def test_a_line_whose_mark_says_sewer_is_excused_by_nobody(bore):
    call("sewer_drain", bore)
    excuse_camera(bore)
    assert "No camera inspection after the bore of the sewer" in " ".join(missing(bore))


def test_a_camera_that_saw_damage_is_excused_by_nobody(bore):
    excuse_camera(bore)
    person = factories.PersonFactory()
    CameraInspection.objects.create(
        bore=bore, mark=Mark.objects.get(), stage="after", inspected_by="Ines", inspected_at=timezone.now(),
        recorded_by=person, recorded_by_name="R", result="damage",
    )  # fmt: skip
    assert "did not show without damage" in " ".join(missing(bore))
    excuse_camera(bore)
    assert "did not show without damage" in " ".join(missing(bore))


def test_it_may_be_asked_for_on_the_form_only_where_it_is_missing(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    address = reverse("conflicts:variance-ask", args=[bore.pk])
    assert 'value="check:camera"' in client.get(address).content.decode()
    looked(bore, timezone.now())
    assert 'value="check:camera"' not in client.get(address).content.decode()
