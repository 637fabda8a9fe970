"""Papers that come with an answer: what is taken, what is refused, and that nothing of them is altered."""

from hashlib import sha256

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from locates.desk.keep_paper import MOST_PAPERS, keep_paper
from locates.errors import RetiredMeanwhileError
from locates.exchange.paper_guard import LONGEST_NAME, SUFFIXES, PaperError, media_type_of, paper_name
from locates.models import ResponsePaper
from locates.models.paper_file import LARGEST_PAPER_BYTES
from tests.factories import ResponseFactory, person_in_role, stand_aside

PDF = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n<<>>\nendobj\n"
PNG = bytes.fromhex("89504e470d0a1a0a0000000d49484452000000010000000108020000009077 53de".replace(" ", ""))
JPEG = bytes.fromhex("ffd8ffe000104a46494600010100000100010000ffd9")
TEXT = "No plant of ours there.\r\nMs Penn, 7 °C".encode()
MAIL = (
    b"From: desk@operator.example\r\nDate: Tue, 24 Nov 2026 10:00:00 +0000\r\nSubject: Ticket\r\n\r\nMarked."
)
GOOD = {
    "sheet.pdf": (PDF, "application/pdf"),
    "Photo.PNG": (PNG, "image/png"),
    "photo.jpg": (JPEG, "image/jpeg"),
    "photo.jpeg": (JPEG, "image/jpeg"),
    "note.txt": (TEXT, "text/plain"),
    "old note.txt": ("Ma\xdfe in Zoll".encode("cp1252"), "text/plain"),
    "answer.eml": (MAIL, "message/rfc822"),
}
PAGE = b"<!DOCTYPE html><script>alert(1)</script>"
PROGRAM = b"MZ\x90\x00\x03\x00\x00\x00"
HOSTILE = [
    ("page.pdf", PAGE),
    ("page.txt", PAGE),
    ("page.txt", b"\n\n  <svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>"),
    ("page.txt", b"\xef\xbb\xbf<html>"),
    ("page.txt", b"<?xml version='1.0'?><a/>"),
    ("page.png", PAGE),
    ("page.jpg", b"\xff\xd8<script>"),
    ("page.eml", PAGE),
    ("program.txt", PROGRAM),
    ("program.pdf", PROGRAM),
    ("nul.txt", b"plain\x00hidden"),
    ("nul.eml", MAIL + b"\x00"),
    ("words.eml", b"Dear all,\r\nnothing to mark."),
    ("nobody.eml", b"Subject: x\r\nDate: Tue, 24 Nov 2026 10:00:00 +0000\r\n\r\nx"),
    ("picture.pdf", PNG),
    ("sheet.png", PDF),
    ("late.pdf", b" " + PDF),
    ("cut.png", PNG[:12]),
    ("page.html", b"plain words"),
    ("drawing.svg", b"plain words"),
    ("program.exe", PROGRAM),
    ("archive.zip", b"PK\x03\x04"),
    ("sheet.pdf.exe", PDF),
    ("pdf", PDF),
    ("empty.pdf", b""),
]


@pytest.mark.parametrize("name", GOOD)
def test_a_paper_is_told_by_its_content(name):
    raw, media_type = GOOD[name]
    assert media_type_of(raw, name) == media_type


@pytest.mark.parametrize(("name", "raw"), HOSTILE)
def test_what_is_not_what_its_name_promises_is_refused_with_what_is_accepted(name, raw):
    with pytest.raises(PaperError, match="accepted: a PDF, a PNG or JPEG picture, plain text"):
        media_type_of(raw, name)


@given(st.binary(max_size=200), st.sampled_from(SUFFIXES))
def test_any_bytes_are_told_or_refused_and_never_break_the_reader(raw, suffix):
    try:
        media_type = media_type_of(raw, f"a{suffix}")
    except PaperError:
        return
    if media_type != "text/plain":
        assert raw.startswith((b"%PDF-", b"\x89PNG", b"\xff\xd8\xff")) or media_type == "message/rfc822"
    assert b"\x00" not in raw or media_type not in ("text/plain", "message/rfc822")


@pytest.mark.parametrize(
    ("sent", "kept"),
    [("a.pdf", "a.pdf"), ("../../etc/a.pdf", "a.pdf"), ("C:\\x\\ä b.pdf", "ä b.pdf"), (" a.pdf ", "a.pdf")],
)
def test_only_the_last_part_of_a_name_is_kept(sent, kept):
    assert paper_name(sent) == kept


@pytest.mark.parametrize(
    "name", ["", " ", "..", "a/", "a\nb.pdf", "a\x00.pdf", "\u202efdp.exe", "a" * LONGEST_NAME + ".pdf"]
)
def test_a_name_that_cannot_be_shown_is_refused(name):
    with pytest.raises(PaperError):
        paper_name(name)


@pytest.fixture
def answer(db):
    return ResponseFactory()


@pytest.fixture
def ruth(db):
    return person_in_role("Coordinator", username="ruth")


@pytest.fixture
def coordinator(client, ruth):
    client.force_login(ruth)
    return client


def brought(client, answer, name, raw):
    url = reverse("locates:response-papers", args=[answer.pk])
    return client.post(url, {"file": SimpleUploadedFile(name, raw, content_type="application/pdf")})


@pytest.mark.parametrize("name", GOOD)
def test_a_paper_comes_back_byte_by_byte_to_be_saved_and_not_shown(coordinator, answer, name):
    raw, media_type = GOOD[name]
    assert brought(coordinator, answer, name, raw).status_code == 302
    paper = ResponsePaper.objects.get()
    assert (paper.media_type, paper.size_bytes, paper.sha256) == (
        media_type,
        len(raw),
        sha256(raw).hexdigest(),
    )
    assert paper.edited_by.get_username() == "ruth"
    handed_out = coordinator.get(reverse("locates:response-paper", args=[paper.pk]))
    assert handed_out.content == raw
    assert handed_out["Content-Type"] == media_type
    assert handed_out["Content-Disposition"].startswith("attachment; filename=")
    assert handed_out["X-Content-Type-Options"] == "nosniff"
    policy = handed_out["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "sandbox" in policy
    assert "script-src" not in policy
    assert "no-store" in handed_out["Cache-Control"]


@pytest.mark.parametrize(("name", "raw"), HOSTILE)
def test_a_refused_paper_leaves_nothing_behind_and_says_why(coordinator, answer, name, raw):
    page = brought(coordinator, answer, name, raw)
    assert page.status_code == 200
    assert "Found " in page.content.decode()
    assert not ResponsePaper.with_retired.exists()


def test_a_paper_that_is_too_large_is_refused_before_it_is_read(coordinator, answer):
    page = brought(coordinator, answer, "large.pdf", PDF + b" " * LARGEST_PAPER_BYTES).content.decode()
    assert "accepted: at most 10,485,760 bytes" in page
    brought(coordinator, answer, "just.pdf", PDF.ljust(LARGEST_PAPER_BYTES))
    assert ResponsePaper.objects.get().size_bytes == LARGEST_PAPER_BYTES


def test_the_same_paper_sent_twice_is_kept_once(answer, ruth):
    first = keep_paper(answer, "a.pdf", PDF, by=ruth)
    assert keep_paper(answer, "b.pdf", PDF, by=ruth) == first
    assert ResponsePaper.objects.get().file_name == "a.pdf"


def test_an_answer_has_room_for_so_many_papers(answer, ruth):
    for place in range(MOST_PAPERS):
        keep_paper(answer, "a.txt", f"Page {place}".encode(), by=ruth)
    with pytest.raises(PaperError, match="20 papers on this answer already"):
        keep_paper(answer, "a.txt", b"One more", by=ruth)
    assert ResponsePaper.objects.count() == MOST_PAPERS


def test_a_retired_answer_takes_no_paper(answer, ruth):
    stand_aside(answer)
    with pytest.raises(RetiredMeanwhileError):
        keep_paper(answer, "a.pdf", PDF, by=ruth)


@pytest.mark.parametrize(
    "change", [{"content": b"altered"}, {"sha256": "0" * 64}, {"size_bytes": 1}, {"media_type": "text/html"}]
)
def test_the_database_refuses_an_altered_paper(answer, ruth, change):
    paper = keep_paper(answer, "a.pdf", PDF, by=ruth)
    with pytest.raises(IntegrityError), transaction.atomic():
        ResponsePaper.objects.filter(pk=paper.pk).update(**change)


def test_a_paper_is_retired_and_brought_back_and_goes_with_its_answer(coordinator, answer, ruth):
    paper = keep_paper(answer, "a.pdf", PDF, by=ruth)
    coordinator.post(reverse("locates:response-paper-retire", args=[paper.pk]))
    address = reverse("locates:response-paper", args=[paper.pk])
    assert coordinator.get(address).status_code == 404
    again = keep_paper(answer, "a.pdf", PDF, by=ruth)
    assert again.pk != paper.pk
    coordinator.post(reverse("locates:response-retire", args=[answer.pk]))
    assert not ResponsePaper.objects.exists()
    assert bytes(ResponsePaper.with_retired.get(pk=paper.pk).content) == PDF


def test_who_logs_no_answers_reads_papers_and_adds_none(client, answer, ruth):
    paper = keep_paper(answer, "a.pdf", PDF, by=ruth)
    address = reverse("locates:response-paper", args=[paper.pk])
    assert client.get(address).status_code == 302
    client.force_login(person_in_role("Foreman"))
    assert client.get(address).status_code == 200
    assert brought(client, answer, "b.pdf", PDF).status_code == 403
    assert client.post(reverse("locates:response-paper-retire", args=[paper.pk])).status_code == 403


def test_lists_of_papers_do_not_read_their_bytes(answer, ruth, django_assert_num_queries):
    keep_paper(answer, "a.pdf", PDF, by=ruth)
    with django_assert_num_queries(1):
        (paper,) = ResponsePaper.objects.listed()
        assert paper.edited_by == ruth
    assert paper.get_deferred_fields() == {"content"}
