"""The pages on which readers are kept and a confirmation fills the ticket's form."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from locates.models import TextReader, Ticket
from tests.factories import FacilityOperatorFactory, JobFactory, OrganisationFactory, person_in_role
from tests.locates.intake.test_ticket_text import PATTERNS, TEXT
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator"))
    return client


@pytest.fixture
def job():
    job = JobFactory(time_zone="America/New_York")
    FacilityOperatorFactory(job=job, name="FENNICK  GAS")
    return job


@pytest.fixture
def reader(job):
    return TextReader.objects.create(organisation=job.organisation, name="Bend notices", patterns=PATTERNS)


def words_of(response):
    return " ".join(response.content.decode().split())


def test_a_pasted_text_fills_the_form_and_nothing_is_stored(coordinator, job, reader):
    address = reverse("locates:ticket-from-text", args=[job.pk])
    response = coordinator.post(address, {"reader": reader.pk, "text": TEXT})
    page = words_of(response)
    assert "Notice <mark>26-004417</mark> (renews 26-003901)" in page
    assert 'value="26-004417"' in page
    assert "Harrow Bend Water" in page.split("No operator of this job has these names")[1][:200]
    assert not Ticket.objects.exists()


def test_a_file_is_read_like_a_pasted_text(coordinator, job, reader):
    address = reverse("locates:ticket-from-text", args=[job.pk])
    file = SimpleUploadedFile("notice.txt", TEXT.encode())
    assert 'value="26-004417"' in words_of(coordinator.post(address, {"reader": reader.pk, "file": file}))


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"text": ""}, "accepted is the text of a confirmation"),
        ({"file": SimpleUploadedFile("a.txt", b"\x00\x01\x02")}, "no plain text"),
        ({"file": SimpleUploadedFile("a.txt", b"")}, "no plain text"),
        ({"text": "a", "file": SimpleUploadedFile("a.txt", b"a")}, "one of the two"),
        ({"file": SimpleUploadedFile("a.txt", b"a" * 900_000)}, "at most 800,000"),
    ],
)
def test_what_is_no_text_is_refused_in_words(coordinator, job, reader, sent, words):
    address = reverse("locates:ticket-from-text", args=[job.pk])
    assert words in words_of(coordinator.post(address, {"reader": reader.pk, **sent}))


def test_markup_in_a_text_is_shown_as_text(coordinator, job, reader):
    address = reverse("locates:ticket-from-text", args=[job.pk])
    text = TEXT.replace("R. Pell", "<script>alert(1)</script>")
    page = coordinator.post(address, {"reader": reader.pk, "text": text}).content.decode()
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


def test_a_reader_of_another_company_is_not_offered(coordinator, reader):
    reader.organisation = OrganisationFactory()
    reader.save()
    elsewhere = JobFactory()
    page = words_of(coordinator.get(reverse("locates:ticket-from-text", args=[elsewhere.pk])))
    assert "keeps no reader yet" in page


def test_patterns_are_tried_on_the_sample_and_not_saved(coordinator, job):
    address = reverse("locates:text-reader-add")
    sent = form_of(coordinator, address) | {
        "name": "Tried",
        "sample": TEXT,
        "find-number": PATTERNS["number"],
    }
    page = words_of(coordinator.post(address, sent | {"try": "yes"}))
    assert "Notice <mark>26-004417</mark>" in page
    assert not TextReader.objects.exists()
    coordinator.post(address, sent)
    assert TextReader.objects.get().patterns == {"number": PATTERNS["number"]}


def test_a_pattern_that_cannot_be_used_is_refused_beside_its_box(coordinator, reader):
    address = reverse("locates:text-reader-edit", args=[reader.pk])
    sent = form_of(coordinator, address) | {"find-number": "("}
    page = words_of(coordinator.post(address, sent))
    assert page.count("missing ): (") == 2  # in the summary and beside the box
    assert "Number: missing" not in page  # the label stands there already
    reader.refresh_from_db()
    assert reader.patterns == PATTERNS


def test_the_second_of_two_editors_is_told_and_loses_nothing(coordinator, reader):
    address = reverse("locates:text-reader-edit", args=[reader.pk])
    first = form_of(coordinator, address)
    second = first | {"find-called_by": "Caller: (.+)"}
    coordinator.post(address, first | {"find-called_by": "From: (.+)"})
    page = words_of(coordinator.post(address, second))
    assert "Called by, as they saved it" in page
    assert "From: (.+)" in page
    assert "Caller: (.+)" in page
    again = second | {"opened_version": "2"}
    coordinator.post(address, again)
    reader.refresh_from_db()
    assert reader.patterns["called_by"] == "Caller: (.+)"


@pytest.mark.parametrize("role", ["Foreman", "Safety manager"])
def test_others_see_the_readers_and_change_none(client, reader, role):
    client.force_login(person_in_role(role))
    assert reader.name in words_of(client.get(reverse("locates:text-readers")))
    assert client.get(reverse("locates:text-reader-edit", args=[reader.pk])).status_code == 403
