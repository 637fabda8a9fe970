"""Reports of damage and near misses: stored once with their photos, in the ledger, for the own company."""

import re
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.models import DamageReport
from locates.desk.prove_ledger import prove_ledger
from locates.models import LedgerEntry, Photo
from tests.factories import (
    BoreFactory,
    MarkFactory,
    OrganisationFactory,
    person_in_role,
    small_job,
    stand_aside,
)
from tests.photo_files import jpeg, photo_upload

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return small_job(time_zone="America/New_York")


@pytest.fixture
def foreman(client):
    client.person = person_in_role("Foreman", first_name="Rue", last_name="Pell")
    client.force_login(client.person)
    return client


def address(job):
    return reverse("conflicts:damage-add", args=[job.pk])


def told(**values):
    return {
        "new_id": str(uuid4()),
        "kind": "damage",
        "happened_at": "2024-11-12T08:15",
        "facility_type": "gas_oil_steam",
        "operator": "Millbrook Gas",
        "place": "By the third pole",
        "what_happened": "The reamer took the service.",
        "who_was_called": "911 at 8:16, the operator at 8:20.",
    } | values


def test_a_report_is_stored_with_its_photos_and_its_entry_names_them(foreman, job):
    first, second = jpeg(shade=90), jpeg(shade=40)
    uploads = [photo_upload(first, "a.jpg"), photo_upload(second, "b.jpg")]
    mark, bore = job.marks.get(), job.bores.get()
    response = foreman.post(address(job), told(photos=uploads, mark=mark.pk, bore=bore.pk))
    report = DamageReport.objects.get()
    assert (response.status_code, response.url) == (302, reverse("conflicts:damage", args=[report.pk]))
    assert report.happened_at == datetime(2024, 11, 12, 13, 15, tzinfo=UTC)
    assert (report.mark, report.bore, report.reported_by_name) == (mark, bore, "Rue Pell")
    digests = [sha256(raw).hexdigest() for raw in (first, second)]
    assert report.photo_sha256s == digests
    assert set(Photo.objects.of(report).values_list("sha256", flat=True)) == set(digests)
    kinds = list(LedgerEntry.objects.order_by("sequence").values_list("kind", flat=True))
    assert kinds == ["photo", "photo", "damage"]
    assert all(digest in LedgerEntry.objects.get(kind="damage").content for digest in digests)
    assert prove_ledger().count == 3
    page = foreman.get(response.url).content.decode()
    for words in ("The reamer took the service.", "By the third pole", "911 at 8:16", "entry 3", mark.ref):
        assert words in page
    assert page.count("<img ") == 2
    assert (
        reverse("conflicts:damage", args=[report.pk])
        in foreman.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    )


def test_the_same_report_sent_twice_is_stored_once(foreman, job):
    values = told(photos=[photo_upload()])
    for _ in range(2):
        values["photos"] = [photo_upload()]
        assert foreman.post(address(job), values).status_code == 302
    assert DamageReport.objects.count() == Photo.objects.count() == 1
    assert LedgerEntry.objects.count() == 2


def test_the_id_of_another_jobs_report_makes_one_of_its_own(foreman, job):
    values = told()
    foreman.post(address(small_job()), values)
    assert foreman.post(address(job), values).status_code == 302
    assert DamageReport.objects.count() == 2


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("kind", ""),
        ("kind", "strike"),
        ("happened_at", ""),
        ("happened_at", "yesterday"),
        ("facility_type", "steam"),
        ("what_happened", "  "),
        ("operator", "x" * 201),
        ("mark", str(uuid4())),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_written_stays(foreman, job, field, value):
    response = foreman.post(address(job), told(**{field: value}))
    assert response.status_code == 200
    assert list(response.context["form"].errors) == [field]
    assert not DamageReport.objects.exists()
    page = response.content.decode()
    assert "Nothing is reported yet" in page
    assert "911 at 8:16, the operator at 8:20." in page


def test_what_is_still_to_come_did_not_happen(foreman, job):
    ahead = (timezone.now() + timedelta(days=2)).strftime("%Y-%m-%dT%H:%M")
    response = foreman.post(address(job), told(happened_at=ahead))
    assert list(response.context["form"].errors) == ["happened_at"]


def test_a_photo_that_cannot_be_kept_leaves_nothing_stored(foreman, job):
    uploads = [photo_upload(), photo_upload(b"no picture", "b.jpg")]
    response = foreman.post(address(job), told(photos=uploads))
    assert list(response.context["form"].errors) == ["photos"]
    assert not DamageReport.objects.exists()
    assert not Photo.objects.exists()
    assert not LedgerEntry.objects.exists()


def test_only_the_bores_and_marks_of_the_job_can_be_named(foreman, job):
    other_mark, other_bore = MarkFactory(), BoreFactory()
    response = foreman.post(address(job), told(mark=other_mark.pk, bore=other_bore.pk))
    assert set(response.context["form"].errors) == {"mark", "bore"}


def test_a_retired_job_takes_no_report(foreman, job):
    stand_aside(job)
    assert foreman.post(address(job), told()).status_code == 404


@pytest.mark.parametrize("role", ["Coordinator", "Foreman", "Safety manager"])
def test_every_role_reports(client, job, role):
    client.force_login(person_in_role(role))
    assert client.get(address(job)).status_code == 200
    assert client.post(address(job), told()).status_code == 302


def test_nobody_of_another_company_reports_or_reads(client, foreman, job):
    foreman.post(address(job), told())
    report = DamageReport.objects.get()
    client.force_login(person_in_role("Safety manager", OrganisationFactory()))
    assert client.get(reverse("conflicts:damage", args=[report.pk])).status_code == 404
    assert client.post(address(job), told()).status_code == 404
    client.logout()
    assert re.match(reverse("login"), client.get(reverse("conflicts:damage", args=[report.pk])).url)


def test_the_number_of_queries_does_not_grow_with_the_reports(foreman, job, django_assert_max_num_queries):
    counts = []
    for _ in range(2):
        foreman.post(address(job), told())
        foreman.get(reverse("conflicts:job", args=[job.pk]))
        with django_assert_max_num_queries(67) as made:
            foreman.get(reverse("conflicts:job", args=[job.pk]))
        counts.append(len(made))
    assert counts[0] == counts[1]
