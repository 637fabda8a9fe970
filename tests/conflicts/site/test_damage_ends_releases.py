"""A line that was hit, or nearly, ends every release of the bore; who signs again sees the report."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.desk.report_damage import report_damage
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.errors import DamageOpenError, GroundsChangedError
from conflicts.models import DamageReport, Release, ReleaseWithdrawal
from conflicts.release import ReleaseState, grounds_of, sign_release, standing_of
from locates.local_time import write_local
from locates.models import LedgerEntry
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.factories import PASSWORD, person_in_role
from tests.page_forms import sent_as_shown
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


SETTLED = "The operator mended the wire and lets the work go on: T. Marsh, 10:40."


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


def sign(bore, by, shown_digest=None, *, settled=""):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    release = Release(bore=bore, crew="Crew 2", rig="Rig 7", damage_settled=settled, **shift)
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
    assert standing(sign(bore, person, settled=SETTLED)).is_in_force
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
    signed = sign(bore, person, grounds_of(bore, timezone.now()).shown_digest, settled=SETTLED)
    page = client.get(reverse("conflicts:release", args=[signed.pk])).content.decode()
    assert all(address in page for address in addresses)


@pytest.mark.parametrize("kind", ["damage", "near_miss"])
@pytest.mark.parametrize("settled", ["", " \n"])
def test_nothing_is_signed_after_a_report_until_it_is_said_what_was_settled(bore, person, kind, settled):
    report(bore.job, person, bore=bore, kind=kind)
    with pytest.raises(DamageOpenError, match="No release answers a report of damage or a near miss yet"):
        sign(bore, person, settled=settled)
    assert not Release.objects.exists()


def test_what_was_settled_is_said_once_for_each_report(bore, person):
    first = report(bore.job, person, bore=bore)
    assert sign(bore, person, settled=SETTLED).damage_answered == [str(first.pk)]
    assert sign(bore, person).damage_answered == []
    second, third = report(bore.job, person, bore=bore), report(bore.job, person)
    with pytest.raises(DamageOpenError, match="No release answers 2 reports"):
        sign(bore, person)
    assert set(sign(bore, person, settled=SETTLED).damage_answered) == {str(second.pk), str(third.pk)}


def test_a_report_of_the_job_is_answered_for_each_of_its_bores(bore, person):
    report(bore.job, person)
    sign(bore, person, settled=SETTLED)
    other = factories.BoreFactory(job=bore.job)
    assert len(Release.objects.open_damage(other, [str(DamageReport.objects.get().pk)])) == 1


def test_a_release_that_is_taken_back_answers_nothing_any_more(bore, person):
    report(bore.job, person, bore=bore)
    signed = sign(bore, person, settled=SETTLED)
    withdraw_release(ReleaseWithdrawal(release=signed, reason="It was not mended."), by=person)
    with pytest.raises(DamageOpenError):
        sign(bore, person)


def test_the_words_stand_in_the_ledger_on_the_page_and_in_the_clearance_record(client, bore, person):
    client.force_login(person_in_role("Foreman"))
    of = report(bore.job, person, bore=bore)
    signed = sign(bore, person, settled=SETTLED)
    content = LedgerEntry.objects.get(kind="release").content
    assert f'"damage_answered":["{of.pk}"]' in content
    assert f'"damage_settled":"{SETTLED}"' in content
    page = client.get(reverse("conflicts:release", args=[signed.pk])).content.decode()
    assert SETTLED in page
    [release] = [one for one in read_clearance_record(bore.pk).signatures if one.what == "Release"]
    assert release.says[-1] == f"Settled of 1 report of damage or a near miss: {SETTLED}"


def test_the_sheet_asks_in_words_and_signs_with_them(client, bore, person):
    client.force_login(person_in_role("Foreman"))
    address, now = reverse("conflicts:release-sign", args=[bore.pk]), timezone.now()
    assert "What was settled since the damage" not in client.get(address).content.decode()
    report(bore.job, person, bore=bore)
    shown = client.get(address).content.decode()
    assert "No release says yet what was settled of" in shown
    shift = {
        "shift_from": write_local(now, bore.job.time_zone),
        "shift_until": write_local(now + timedelta(hours=2), bore.job.time_zone),
    }
    filled = {**shift, "crew": "Crew 2", "rig": "Rig 7", "password": PASSWORD}
    refused = sent_as_shown(client, address, filled).content.decode()
    assert 'aria-invalid="true"' in refused
    assert 'value="Crew 2"' in refused
    assert not Release.objects.exists()
    sent_as_shown(client, address, {**filled, "damage_settled": SETTLED})
    assert Release.objects.get().damage_settled == SETTLED
