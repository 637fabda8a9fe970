"""A line that was hit, or nearly, ends every release of the bore; who signs again sees the report."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.desk.report_damage import report_damage
from conflicts.errors import GroundsChangedError
from conflicts.models import DamageReport, Release
from conflicts.release import ReleaseState, grounds_of, sign_release, standing_of
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def person():
    return factories.PersonFactory(first_name="Wren", last_name="Aldous")


def report(job, by, **values):
    told = {"kind": "damage", "facility_type": "gas_oil_steam", "what_happened": "The reamer tore the wire."}
    happened_at = timezone.now() - timedelta(hours=3)
    one = DamageReport(job=job, happened_at=happened_at, **{**told, **values})
    return report_damage(one, by=by, photo_sha256s=[], keep_photos=lambda _report: [])


def sign(bore, by, shown_digest=None):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    release = Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift)
    return sign_release(release, by=by, shown_digest=shown_digest)


def standing(release):
    return standing_of(Release.objects.with_course().get(pk=release.pk))


@pytest.mark.parametrize("names_bore", [True, False])
@pytest.mark.parametrize(("kind", "words"), [("damage", "Damage was"), ("near_miss", "A near miss was")])
def test_a_report_of_the_bore_or_of_its_job_ends_the_release_for_good(bore, person, names_bore, kind, words):
    release = sign(bore, person)
    assert standing(release).is_in_force
    report(bore.job, person, kind=kind, bore=bore if names_bore else None)
    found = standing(release)
    assert found.state is ReleaseState.LAPSED
    assert found.reasons[0].startswith(f"{words} reported ")


def test_a_report_of_another_bore_or_job_ends_it_not(bore, person):
    other = factories.BoreFactory(job=bore.job)
    elsewhere = factories.small_job(name="Fen Lane")
    release = sign(bore, person)
    report(bore.job, person, bore=other)
    report(elsewhere, person)
    assert standing(release).is_in_force


def test_a_release_that_is_signed_after_the_report_holds(bore, person):
    before = sign(bore, person)
    report(bore.job, person, bore=bore)
    assert standing(sign(bore, person)).is_in_force
    assert not standing(before).is_in_force


def test_who_signs_is_shown_the_reports_first(client, bore, person):
    client.force_login(person_in_role("Foreman"))
    shown = grounds_of(bore, timezone.now()).shown_digest
    addresses = [
        reverse("conflicts:damage", args=[report(bore.job, person, **which).pk])
        for which in ({"bore": bore}, {"bore": None, "kind": "near_miss"})
    ]
    sheet = client.get(reverse("conflicts:release-sign", args=[bore.pk])).content.decode()
    assert all(address in sheet for address in addresses)
    with pytest.raises(GroundsChangedError):
        sign(bore, person, shown)
    signed = sign(bore, person, grounds_of(bore, timezone.now()).shown_digest)
    page = client.get(reverse("conflicts:release", args=[signed.pk])).content.decode()
    assert all(address in page for address in addresses)
