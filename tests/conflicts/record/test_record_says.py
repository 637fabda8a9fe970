"""The clearance record as a PDF, read back and held against the assessment of the same moment."""

from dataclasses import replace
from io import BytesIO
from uuid import uuid4

import pytest
from django.contrib.gis.geos import Point
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from conflicts.assess import assess
from conflicts.models import Bore, CloseOut, CrossingWatch
from conflicts.record.render import render_record
from locates.desk.keep_photo import keep_photo
from locates.models import Mark, Ticket
from locates.units import format_length, format_station
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.pdf_reading import (
    fonts_of,
    is_tagged,
    language_of,
    metadata_of,
    page_texts,
    photo_count,
    squeezed,
    tags_of,
)
from tests.photo_files import photo_upload

pytestmark = pytest.mark.django_db

AT = factories.PLANNED_START_AT
HOSTILE = '<script>alert("x")</script><img src="http://nowhere.invalid/a.png"> & Sons'


@pytest.fixture
def bore():
    """A bore that passes under one exposed gas line, and over a sewer of which nothing is known."""
    job = factories.small_job()
    operator = factories.FacilityOperatorFactory(job=job, name="Mallow Water & Sewer")
    factories.MarkFactory(
        job=job,
        ref="S-9",
        operator=operator,
        facility_type="sewer_drain",
        geometry=factories.line((70, -15), (70, 15)),
    )
    return job.bores.get()


def made(bore, at=AT):
    return render_record(read_clearance_record(bore.pk, at)).content


def text(content):
    return "".join(page_texts(content))


def test_every_figure_of_every_crossing_is_that_of_the_assessment(bore):
    document, shown = assess(bore, AT), text(made(bore))
    assert [one["mark_ref"] for one in document["crossings"]][-1] == "S-9"
    for number, one in enumerate(document["crossings"], 1):
        row = squeezed(
            " ".join(
                (
                    format_length(one["horizontal_m"], "feet", "down"),
                    format_length(one["vertical_m"], "feet", "down"),
                    format_length(one["separation_m"], "feet", "down"),
                    format_length(one["worst_case_m"], "feet", "down"),
                    format_length(one["required_m"], "feet", "up"),
                    one["verdict"],
                )
            )
        )
        assert row in shown
        station = format_station(one["station_m"], "feet")
        assert squeezed(f"Crossing {number}:") in shown
        assert squeezed(f"{one['mark_ref']} at station {station} ft") in shown
        assert squeezed(one["sentence"]).replace("-", "\N{MINUS SIGN}") in shown.replace(
            "-", "\N{MINUS SIGN}"
        )


def test_every_check_is_there_with_its_sentence(bore):
    document, shown = assess(bore, AT), text(made(bore))
    assert any(one["holds"] for one in document["checks"])
    for one in document["checks"]:
        result = "holds" if one["holds"] else "passes"
        assert squeezed(f"{result} {one['sentence']}") in shown


def test_an_unknown_figure_is_said_in_words(bore):
    [_, sewer] = assess(bore, AT)["crossings"]
    assert sewer["separation_m"] is None
    shown = text(made(bore))
    assert squeezed("over or under unknown") in shown
    assert squeezed("No test hole has found the line: its depth is unknown, and so is this.") in shown
    assert squeezed("unknown unknown unknown 1 ft 0 1/8 in unexposed") in shown


def test_each_formula_stands_once_under_its_figure_and_its_numbers_with_every_crossing(bore):
    record = read_clearance_record(bore.pk, AT)
    shown = text(render_record(record).content)
    assert len(record.formulas()) > 3
    for name, formula in record.formulas():
        assert shown.count(squeezed(f"{name} {formula}")) == shown.count(squeezed(formula)) == 1
    for one in record.crossings:
        for figure in one.sums:
            assert squeezed(f"{figure.name} {figure.result} {figure.filled} {figure.note}") in shown


def test_the_cover_says_that_the_bore_is_not_released_and_what_holds(bore):
    [cover, *_] = page_texts(made(bore))
    assert squeezed("Not released: do not drill") in cover
    held = sum(one["holds"] for one in assess(bore, AT)["checks"])
    assert squeezed(f"{held} of {len(assess(bore, AT)['checks'])} checks hold") in cover
    assert squeezed("It is not legal advice, not a permit and not an engineer") in cover


def test_each_page_carries_the_digest_of_the_record_and_its_place(bore):
    record = read_clearance_record(bore.pk, AT)
    pages = page_texts(render_record(record).content)
    for number, page in enumerate(pages, 1):
        assert record.inputs_digest() in page
        assert squeezed(f"Page {number} of {len(pages)}") in page


def test_tickets_and_every_answer_of_their_history_are_there(bore):
    ticket = Ticket.objects.get(job=bore.job)
    factories.ResponseFactory(
        ticket=ticket, operator=bore.job.operators.get(name="Mallow Water & Sewer"), response="awaiting"
    )
    factories.ResponseFactory(
        ticket=ticket,
        operator=bore.job.operators.get(name="Mallow Water & Sewer"),
        answered_by="R. Quill",
        note="Two laterals",
    )
    shown = text(made(bore))
    assert squeezed(f"Ticket {ticket.number}, routine: in force") in shown
    assert squeezed("Mallow Water & Sewer awaiting (answered again later) unknown") not in shown
    assert squeezed("awaiting (answered again later)") in shown
    assert squeezed("R. Quill. Two laterals") in shown


def test_a_ticket_that_is_over_is_not_called_in_force(bore):
    shown = text(made(bore, factories.EXPIRES_AT))
    assert squeezed("routine: not in force") in shown


def test_a_ticket_whose_work_is_said_to_be_over_is_not_called_in_force(bore):
    Ticket.objects.filter(job=bore.job).update(work_finished_at=factories.PLANNED_START_AT)
    assert squeezed("routine: not in force") in text(made(bore))


def test_hostile_text_is_shown_as_it_is_written(bore):
    Bore.objects.filter(pk=bore.pk).update(name=HOSTILE, product="a" * 180)
    shown = text(made(bore))
    assert squeezed(HOSTILE) in shown
    assert "a" * 180 in shown


def test_a_name_of_two_hundred_letters_does_not_push_the_pages_over(bore):
    Bore.objects.filter(pk=bore.pk).update(name=("Long name of a bore " * 10).strip())
    content = made(bore)
    record = read_clearance_record(bore.pk, AT)
    assert all(record.inputs_digest() in page for page in page_texts(content))


def test_a_job_with_no_record_but_its_bore_says_so():
    bore = factories.BoreFactory(job=factories.JobFactory(datum=""))
    shown = text(made(bore))
    for sentence in (
        "No logged line comes within a tolerance zone of this bore.",
        "No ticket is logged for this job.",
        "No walk along this bore is signed.",
        "No entry is about this bore.",
        "Nothing is signed about this bore",
    ):
        assert squeezed(sentence) in shown


def test_the_file_is_tagged_and_says_its_title_and_language(bore):
    content = made(bore)
    kinds = {kind for kind, _ in tags_of(content)}
    assert {"H1", "H2", "H3", "P", "Table", "TR", "TH", "TD", "Figure", "LI"} <= kinds
    assert metadata_of(content)["Title"] == f"Clearance record of {bore.name}, {bore.job.name}"
    assert is_tagged(content)
    assert language_of(content) == "en"


def test_every_picture_has_words_beside_it(bore):
    figures = [words for kind, words in tags_of(made(bore)) if kind == "Figure"]
    assert len(figures) == 4  # plan, profile and the cross-sections of two crossings
    assert figures[0].startswith(f"Plan of {bore.name}, north up")
    assert "every figure of it stands in the table" in figures[1].lower()
    assert all("Cross-section at" in words for words in figures[2:])


def test_faces_are_in_the_file(bore):
    fonts = fonts_of(made(bore))
    assert fonts
    assert all(fonts.values())
    assert all("DejaVu" in name for name in fonts)


def test_no_photo_is_shown_where_none_was_taken(bore):
    assert photo_count(made(bore)) == 0


def test_it_takes_as_many_queries_however_many_crossings(bore):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as seen:
            read_clearance_record(bore.pk, AT)
        return len(seen)

    few = queries()
    for east in range(10, 60, 10):
        factories.MarkFactory(
            job=bore.job,
            operator=bore.job.operators.first(),
            geometry=factories.line((east + 3, -15), (east + 3, 15)),
        )
    assert len(assess(bore, AT)["crossings"]) == 7
    assert queries() == few


def test_a_bore_that_is_not_there_has_no_record():
    with pytest.raises(Bore.DoesNotExist):
        read_clearance_record(uuid4(), AT)


def test_the_digest_without_the_moment_is_that_of_all_else(bore):
    record = read_clearance_record(bore.pk, AT)
    later = replace(record, as_of=factories.PLANNED_FINISH_AT)
    assert later.said_digest() == record.said_digest()
    assert later.inputs_digest() != record.inputs_digest()
    other = replace(record, bore=replace(record.bore, product="another"))
    assert other.said_digest() != record.said_digest()


def test_photos_are_printed_with_their_digests_and_words_beside_them(bore):
    mark = bore.job.marks.get(ref="S-9")
    drawn = BytesIO()
    Image.new("RGB", (40, 30), "teal").save(drawn, "JPEG")
    photo = factories.PhotoFactory(
        job=bore.job,
        subject_model="locates.mark",
        subject_id=mark.pk,
        file_name='over "there".jpg',
        print_copy=drawn.getvalue(),
    )
    content = made(bore)
    assert photo_count(content) == 1
    assert photo.sha256 in text(content)
    [words] = [words for kind, words in tags_of(content) if words.startswith("Photo of")]
    assert words == 'Photo of mark S-9, file over "there".jpg; when and where it was taken stands beside it'


def test_the_signatures_and_the_close_out_are_on_the_cover(bore):
    close_out = CloseOut.objects.create(
        bore=bore,
        closed_at=AT,
        closed_by=factories.PersonFactory(),
        closed_by_name="Wren Ashgrove",
        grounds=[],
    )
    [cover, *_] = page_texts(made(bore))
    assert squeezed("Drilled and closed out") in cover
    assert squeezed(f"Close-out {close_out.closed_by_name}") in cover


def pilot_watched(bore, mark, station_m):
    return CrossingWatch.objects.create(
        bore=bore,
        mark=mark,
        kind="crossing",
        station_m=station_m,
        pass_made="pilot",  # noqa: S106 - what passed the line
        seen=True,
        gap_m=0.9,
        required_m=0.305,
        watched_by=factories.PersonFactory(),
        watched_by_name="Wren Ashgrove",
        watched_at=AT,
    )


def test_of_three_passes_the_two_that_nobody_watched_are_named(bore):
    pilot_watched(bore, Mark.objects.exclude(ref="S-9").get(), 50.0)
    words = text(made(bore))
    assert squeezed("Passes that are not settled: reaming, pullback.") in words
    assert squeezed("Passes that are not settled: pilot, reaming, pullback.") in words


def test_a_watch_that_proves_no_crossing_is_told_apart(bore):
    assert squeezed("Watches that prove no crossing") not in text(made(bore))
    gone = factories.MarkFactory(job=bore.job, ref="G-7", geometry=factories.line((20, 300), (20, 400)))
    pilot_watched(bore, gone, 20.0)
    record = read_clearance_record(bore.pk, AT)
    assert [one.watched_by for one in record.lost_watches] == ["Wren Ashgrove"]
    assert squeezed("Watches that prove no crossing") in text(render_record(record).content)


def test_the_place_of_a_photo_is_not_for_whoever_the_record_is_handed_to(bore):
    mark = bore.job.marks.exclude(ref="S-9").get()
    place = Point(-77.123456, 38.654321, srid=4326)
    keep_photo(mark, photo_upload(), by=factories.PersonFactory(), position=place, error_m=4.0)
    shown = text(made(bore, at=None))
    assert squeezed("its place is kept with the original") in shown
    assert "77.1234" not in shown
    assert "38.6543" not in shown
