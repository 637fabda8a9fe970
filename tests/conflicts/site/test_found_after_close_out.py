"""What a camera saw, and damage told of, after a close-out are told wherever the bore reads closed out."""

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.desk.report_damage import report_damage
from conflicts.models import CameraInspection, DamageReport
from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from locates.models import Mark
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.passes.test_passes_made_anew import looked
from tests.conflicts.site.test_closing_faults import PASSES, close
from tests.conflicts.site.test_lost_stops import see
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

AGAINST = "What was found since speaks against it."
SAW = "The camera saw damage, or a conduit, in "
PAGES = ("bore", "close-out", "watches", "ahead")


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def bore(person):
    """A bore over one sewer that was drilled, watched, looked into and closed out."""
    stored = bore_of_today()
    Mark.objects.update(facility_type="sewer_drain")
    store_assessment(stored.pk)
    stood(stored)
    for pass_made in PASSES:
        see(stored, person, pass_made)
    looked(stored, timezone.now())
    close(stored, person)
    return stored


def look_again(bore, person, result):
    CameraInspection.objects.create(
        bore=bore, mark=Mark.objects.get(), stage="after", inspected_by="Ines", inspected_at=timezone.now(),
        recorded_by=person, recorded_by_name="R", result=result,
    )  # fmt: skip


def tell_of(bore, person, kind):
    told = DamageReport(
        job=bore.job, bore=bore, kind=kind, happened_at=timezone.now(), facility_type="sewer_drain",
        what_happened="Sewage came up in a cellar.",
    )  # fmt: skip
    report_damage(told, by=person, photo_sha256s=[], keep_photos=lambda _: ())


@pytest.fixture
def shown(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return lambda name: client.get(reverse(f"conflicts:{name}", args=[bore.pk])).content.decode()


@pytest.mark.parametrize("name", PAGES)
def test_a_camera_that_saw_damage_is_told_until_a_later_one_saw_none(shown, bore, person, name):
    assert AGAINST not in shown(name)
    look_again(bore, person, "damage")
    page = shown(name)
    assert AGAINST in page
    assert f"{SAW}{Mark.objects.get().ref}, " in page
    look_again(bore, person, "no_damage")
    assert AGAINST not in shown(name)


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize(
    ("kind", "words"),
    [("damage", "Damage was reported since"), ("near_miss", "A near miss was reported since")],
)
def test_a_report_of_damage_is_told(shown, bore, person, name, kind, words):
    tell_of(bore, person, kind)
    page = shown(name)
    assert AGAINST in page
    assert words in page


def test_the_cover_of_the_record_says_so_and_one_of_before_does_not(bore, person):
    before = timezone.now()
    assert not draw_record(read_kept_records(bore.pk)).verdict.stops
    look_again(bore, person, "damage")
    tell_of(bore, person, "damage")
    verdict = draw_record(read_kept_records(bore.pk)).verdict
    assert verdict.stops
    assert verdict.headline == "Drilled and closed out; what was found since speaks against it"
    because = " ".join(verdict.because)
    assert SAW in because
    assert "Damage was reported since" in because
    assert not draw_record(read_kept_records(bore.pk, before)).verdict.stops


def test_a_report_from_before_the_close_out_speaks_against_nothing(client, person):
    stored = bore_of_today()
    stood(stored)
    tell_of(stored, person, "near_miss")
    for pass_made in PASSES:
        see(stored, person, pass_made)
    close(stored, person)
    client.force_login(person_in_role("Foreman", stored.job.organisation))
    page = client.get(reverse("conflicts:close-out", args=[stored.pk])).content.decode()
    assert "Drilled and closed out" in page
    assert AGAINST not in page
