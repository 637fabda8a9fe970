"""Photos and papers of a variance: kept as they came, covered by the signature, shown apart after it."""

import re
from datetime import timedelta
from hashlib import sha256

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.audit.record_sections import VARIANCES
from conflicts.desk.variance import end_variance, request_variance, sign_variance
from conflicts.desk.variance_evidence import MOST_PAPERS, add_evidence, evidence_of, keep_papers, sheet_of
from conflicts.errors import VarianceError
from conflicts.evidence import Evidence, evidence_digest, evidence_sheet
from conflicts.models import Variance, VarianceEnd, VariancePaper, VarianceSignature
from conflicts.models.audit_filters import AuditFilters
from conflicts.record.read import read_kept_records
from locates.desk.keep_photo import keep_photo
from locates.desk.prove_ledger import prove_ledger
from locates.exchange.paper_guard import PaperError, check_paper
from locates.forms.files_field import MOST_AT_ONCE
from locates.local_time import write_local
from locates.models import LedgerEntry, Photo
from locates.models.paper_file import LARGEST_PAPER_BYTES
from tests import factories
from tests.factories import PASSWORD, person_in_role
from tests.page_forms import sent_as_shown
from tests.photo_files import photo_upload
from tests.rewriting import rewriting_allowed
from tests.signing import signing

pytestmark = pytest.mark.django_db

ZONE = "America/New_York"
SHOWN = re.compile('name="(shown|shown_evidence)" value="([0-9a-f]{64})"')
PDF = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n<<>>\nendobj\n"


@pytest.fixture
def bore():
    bore = factories.small_job().bores.get()
    store_assessment(bore.pk)
    return bore


@pytest.fixture
def asked(bore):
    variance = Variance(bore=bore, subject="check", check_code="surface", reason="A spotter stands by.")
    person = factories.PersonFactory()
    with signing(person):
        return request_variance(variance, by=person)


def file(name="letter.pdf", raw=PDF):
    return SimpleUploadedFile(name, raw, content_type="text/html")


def add(variance, name="letter.pdf", raw=PDF):
    paper = check_paper(name, raw, LARGEST_PAPER_BYTES)
    person = factories.PersonFactory()
    with signing(person):
        add_evidence(variance, lambda: keep_papers(variance, [paper], by=person))
    return VariancePaper.objects.get(variance=variance, sha256=sha256(raw).hexdigest())


def photograph(variance, **how):
    person = factories.PersonFactory()
    with signing(person):
        add_evidence(variance, lambda: keep_photo(variance, photo_upload(**how), by=person))
    return Photo.objects.of(variance).last()


def sign(variance, **shown):
    signature = VarianceSignature(variance=variance, valid_until=timezone.now() + timedelta(days=2))
    person = factories.PersonFactory()
    with signing(person):
        return sign_variance(signature, by=person, **shown)


def again(variance):
    return Variance.objects.with_course().get(pk=variance.pk)


def page(client, name, key):
    return " ".join(client.get(reverse(f"conflicts:{name}", args=[key])).content.decode().split())


def sign_as_shown(client, variance, shown, remarks=""):
    until = write_local(timezone.now() + timedelta(days=2), ZONE)
    sent = {"do": "sign", "sign-valid_until": until, "sign-password": PASSWORD, **shown}
    sent["sign-remarks"] = remarks
    response = client.post(reverse("conflicts:variance", args=[variance.pk]), sent, follow=True)
    return " ".join(response.content.decode().split())


def test_papers_come_with_the_request_and_are_handed_out_as_they_came(client, bore):
    client.force_login(person_in_role("Foreman"))
    sent_as_shown(
        client,
        reverse("conflicts:variance-ask", args=[bore.pk]),
        {
            "what": "check:surface",
            "reason": "A spotter stands by.",
            "papers": [file(), file("calculation.txt", b"14 in leaves 2 in.")],
        },
    )
    variance = Variance.objects.get()
    letter, calculation = VariancePaper.objects.order_by("file_name").reverse()
    assert (letter.media_type, calculation.media_type) == ("application/pdf", "text/plain")
    for paper in (letter, calculation):
        assert LedgerEntry.objects.filter(kind="variance_paper", record_id=paper.pk).exists()
    response = client.get(reverse("conflicts:variance-paper", args=[letter.pk]))
    assert response.content == PDF
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"] == 'attachment; filename="letter.pdf"'
    assert response["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in response["Content-Security-Policy"]
    assert sha256(PDF).hexdigest() in page(client, "variance", variance.pk)


@pytest.mark.parametrize(
    ("name", "raw", "told"),
    [
        ("letter.pdf", b"<!DOCTYPE html><script>alert(1)</script>", "no PDF inside"),
        ("page.html", b"plain words", "ends in"),
        ("letter.pdf", b"", "empty file"),
        ("letter.pdf", PDF.ljust(LARGEST_PAPER_BYTES + 1), "at most"),
    ],
)
def test_a_file_that_is_no_paper_stores_nothing_and_what_was_typed_stays(client, bore, name, raw, told):
    client.force_login(person_in_role("Foreman"))
    sent = {"what": "check:surface", "reason": "A spotter stands by.", "papers": [file(name, raw), file()]}
    text = sent_as_shown(client, reverse("conflicts:variance-ask", args=[bore.pk]), sent).content.decode()
    assert told in text
    assert f"{name}: " in text
    assert "A spotter stands by." in text
    assert not Variance.objects.exists()
    assert not VariancePaper.objects.exists()


def test_more_papers_than_one_sending_takes_are_refused(client, asked):
    client.force_login(person_in_role("Foreman"))
    sent = {"papers": [file(f"{place}.txt", str(place).encode()) for place in range(MOST_AT_ONCE + 1)]}
    response = client.post(reverse("conflicts:variance-evidence", args=[asked.pk]), sent)
    assert f"Found {MOST_AT_ONCE + 1} papers" in response.content.decode()
    assert not VariancePaper.objects.exists()


def test_more_papers_than_a_variance_may_have_are_refused_whole(client, asked):
    for place in range(MOST_PAPERS):
        add(asked, f"{place}.txt", str(place).encode())
    client.force_login(person_in_role("Foreman"))
    sent = {"papers": [file()], "photos": [photo_upload()]}
    response = client.post(reverse("conflicts:variance-evidence", args=[asked.pk]), sent)
    assert f"{MOST_PAPERS} papers on this variance already" in response.content.decode()
    assert VariancePaper.objects.count() == MOST_PAPERS
    assert not Photo.objects.exists()


def test_the_same_paper_sent_twice_is_kept_once(client, asked):
    client.force_login(person_in_role("Foreman"))
    for name in ("letter.pdf", "the same letter.pdf"):
        client.post(reverse("conflicts:variance-evidence", args=[asked.pk]), {"papers": [file(name)]})
    assert VariancePaper.objects.get().file_name == "letter.pdf"
    assert LedgerEntry.objects.filter(kind="variance_paper").count() == 1


def test_a_form_with_no_file_says_so(client, asked):
    client.force_login(person_in_role("Foreman"))
    text = client.post(reverse("conflicts:variance-evidence", args=[asked.pk]), {}).content.decode()
    assert "Choose a photo or a paper: none came with the form." in text


def test_the_signature_names_in_the_ledger_what_stood_when_it_was_signed(asked):
    photo, paper = photograph(asked), add(asked)
    signature = sign(asked)
    assert signature.ledger_content()["covered"] == [
        ["paper", "letter.pdf", paper.sha256],
        ["photo", photo.file_name, photo.sha256],
    ]
    entry = LedgerEntry.objects.get(kind="variance", record_id=signature.pk)
    assert paper.sha256 in entry.content
    assert photo.sha256 in entry.content
    assert prove_ledger().is_proven


def test_what_came_after_the_signature_is_shown_apart_on_page_record_and_audit(client, asked):
    add(asked)
    sign(asked)
    add(asked, "late.txt", b"The operator agrees too.")
    photograph(asked)
    sheet = sheet_of(again(asked), evidence_of(asked))
    assert [one.file_name for one in sheet.covered] == ["letter.pdf"]
    assert {one.kind for one in sheet.after} == {"photo", "paper"}
    client.force_login(person_in_role("Safety manager"))
    covered, after = page(client, "variance", asked.pk).split("Added after the signature; not covered by it")
    assert "Covered by the signature" in covered
    assert "letter.pdf" in covered
    assert "late.txt" not in covered
    assert "late.txt" in after
    [kept] = read_kept_records(asked.bore_id).signed.variances
    assert {one.file_name: one.standing for one in kept.files} == {
        "letter.pdf": "covered by the signature",
        "late.txt": "added after the signature; not covered by it",
        Photo.objects.get().file_name: "added after the signature; not covered by it",
    }
    told = audited(asked)
    assert "covered by the signature: letter.pdf" in told["evidence"]
    assert "not covered by it: " in told["evidence"]
    for one in kept.files:
        assert one.sha256 in told["evidence_sha256s"]


def audited(variance):
    filters = AuditFilters(company=variance.bore.job.organisation_id)
    [row] = VARIANCES.rows(filters, None, 10)
    return {column.name: column.value(row) for column in VARIANCES.columns}


def test_the_record_of_a_bore_has_the_entries_of_papers_in_its_chain(asked):
    paper = add(asked)
    entries = read_kept_records(asked.bore_id).signed.chain.entries
    assert ("variance_paper", str(paper.pk)) in {(one.kind, one.record_id) for one in entries}


def test_who_signs_is_shown_the_evidence_and_one_more_since_refuses_the_signature(client, asked):
    add(asked)
    client.force_login(person_in_role("Safety manager"))
    before = page(client, "variance", asked.pk)
    assert "Covered once it is signed" in before
    add(asked, "late.txt", b"The operator does not agree.")
    text = sign_as_shown(client, asked, dict(SHOWN.findall(before)))
    assert "Its evidence has changed since this page was shown" in text
    assert "late.txt" in text
    assert not VarianceSignature.objects.exists()
    sign_as_shown(client, asked, dict(SHOWN.findall(text)))
    assert [name for _, name, _ in VarianceSignature.objects.get().covered] == ["late.txt", "letter.pdf"]


def test_a_form_that_does_not_say_which_evidence_it_showed_signs_nothing(client, asked):
    client.force_login(person_in_role("Safety manager"))
    shown = dict(SHOWN.findall(page(client, "variance", asked.pk)))
    del shown["shown_evidence"]
    assert "Its evidence has changed" in sign_as_shown(client, asked, shown)
    assert not VarianceSignature.objects.exists()


def test_an_old_signature_still_proves_and_is_said_to_name_nothing(client, asked):
    paper = add(asked)
    old = sign(asked)
    old.covered = None
    assert "covered" not in old.ledger_content()
    with rewriting_allowed():
        VarianceSignature.objects.filter(pk=old.pk).update(covered=None)
        entry = LedgerEntry.objects.get(record_id=old.pk)
        assert "covered" in entry.content
    late = add(asked, "late.txt", b"Since.")
    sheet = sheet_of(again(asked), evidence_of(asked))
    assert not sheet.is_named
    assert [one.sha256 for one in sheet.covered] == [paper.sha256]
    assert [one.sha256 for one in sheet.after] == [late.sha256]
    client.force_login(person_in_role("Safety manager"))
    text = page(client, "variance", asked.pk)
    assert "It was signed before signatures named what they cover." in text
    assert "Not named by the signature" in text


def test_nothing_that_is_kept_can_be_changed_or_taken_away(asked):
    paper = add(asked)
    for sql in (
        "UPDATE conflicts_variancepaper SET file_name = 'x'",
        "DELETE FROM conflicts_variancepaper",
        "TRUNCATE conflicts_variancepaper",
    ):
        refused = pytest.raises(DatabaseError, match=r"stays as it is|TRUNCATE is refused")
        with refused, transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"SET CONSTRAINTS ALL IMMEDIATE; {sql}")
    assert VariancePaper.objects.get().pk == paper.pk


def test_a_covered_paper_that_is_taken_out_behind_the_program_is_told_as_gone(client, asked):
    paper = add(asked)
    sign(asked)
    with rewriting_allowed():
        VariancePaper.objects.filter(pk=paper.pk).delete()
    assert not prove_ledger().is_proven
    client.force_login(person_in_role("Safety manager"))
    text = page(client, "variance", asked.pk)
    assert "Gone, though the signature covers it" in text
    assert paper.sha256 in text
    [kept] = read_kept_records(asked.bore_id).signed.variances
    assert [one.standing for one in kept.files] == ["gone, though the signature covers it"]


def test_nothing_is_added_to_what_is_ended(client, asked):
    end_variance(VarianceEnd(variance=asked, reason="Not needed."), by=factories.PersonFactory())
    with pytest.raises(VarianceError, match="It is ended"):
        add(asked)
    client.force_login(person_in_role("Foreman"))
    text = client.post(
        reverse("conflicts:variance-evidence", args=[asked.pk]), {"papers": [file()]}
    ).content.decode()
    assert "nothing is added to it any more" in text
    assert not VariancePaper.objects.exists()


def test_a_photo_and_a_paper_of_the_same_bytes_are_two(asked):
    upload = photo_upload()
    raw = upload.read()
    upload.seek(0)
    keep_photo(asked, upload, by=factories.PersonFactory())
    add(asked, "the photo.jpg", raw)
    sign(asked)
    assert len(again(asked).signature.covered) == 2


def test_too_many_papers_are_told_before_any_is_stored(asked):
    papers = [check_paper(f"{n}.txt", str(n).encode(), 99) for n in range(MOST_PAPERS + 1)]
    with pytest.raises(PaperError, match="already"):
        add_evidence(asked, lambda: keep_papers(asked, papers, by=factories.PersonFactory()))
    assert not VariancePaper.objects.exists()
    assert not LedgerEntry.objects.filter(kind="variance_paper").exists()


def test_the_digest_of_evidence_knows_no_order_and_tells_each_part_apart():
    one = Evidence("photo", "a.jpg", "1" * 64)
    two = Evidence("paper", "b.pdf", "2" * 64)
    assert evidence_digest([one, two]) == evidence_digest([two, one])
    of_another_kind, renamed = Evidence("paper", "a.jpg", "1" * 64), Evidence("photo", "c.jpg", "1" * 64)
    lists = ([one, two], [], [one], [of_another_kind, two], [renamed, two])
    assert len({evidence_digest(found) for found in lists}) == len(lists)


def test_evidence_without_a_signature_is_what_it_would_cover():
    one = Evidence("paper", "b.pdf", "2" * 64)
    sheet = evidence_sheet([one], None, None)
    assert (sheet.covered, sheet.after, sheet.missing) == ((one,), (), ())
