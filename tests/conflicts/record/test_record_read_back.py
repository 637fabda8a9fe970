"""The clearance record read back as text and pictures and held against the assessment."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.utils import timezone

from conflicts.assess import assess
from conflicts.desk.record_watch import record_watch
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.errors import IncompleteRecordError
from conflicts.models import CrossingWatch, Release, ReleaseWithdrawal, Variance, VarianceSignature
from conflicts.record.render import render_record
from conflicts.record.sheet import Picture
from conflicts.release import sign_release
from locates.desk.keep_photo import keep_photo
from locates.models import LedgerEntry, Mark, TestHole
from locates.units import format_length, format_station
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.pdf_reading import page_texts, photo_files, pictured, squeezed
from tests.photo_files import jpeg

pytestmark = pytest.mark.django_db

# The paint of gas lines in the drawings, static/base/tokens.css: it stands nowhere else on these pages.
GAS_PAINT = (255, 209, 0)


@pytest.fixture
def bore():
    """A bore of today with nothing missing, that passes under one exposed gas line."""
    now = timezone.now()
    job = factories.small_job()
    job.tickets.update(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    factories.DailyWalkFactory(bore=job.bores.get(), walked_at=now)
    return job.bores.get()


@pytest.fixture
def foreman():
    return factories.person_in_role("Foreman", first_name="Bram", last_name="Orley")


@pytest.fixture
def release(bore, foreman):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=8)}
    return sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=foreman)


def read_back(bore):
    """The text of each page of the record as of now, each of whose figures is the assessment's."""
    record = read_clearance_record(bore.pk)
    pages = page_texts(render_record(record).content)
    document = assess(bore, record.as_of)
    assert record.assessment_digest == document["inputs_digest"]
    whole = "".join(pages)
    for number, one in enumerate(document["crossings"], 1):
        assert squeezed(table_row(number, one)) in whole
        [page] = [text for text in pages if squeezed(f"Crossing {number}:") in text]
        for words in said_with(one):
            assert squeezed(words).replace("-", "\N{MINUS SIGN}") in page.replace("-", "\N{MINUS SIGN}")
    for check in document["checks"]:
        assert squeezed(f"{'holds' if check['holds'] else 'passes'} {check['sentence']}") in whole
    return pages


def table_row(number, one):
    """A row of the table of crossings from its station on, as the assessment has it."""
    how = f"passes {one['passes']}" if one["passes"] else "over or under unknown"
    return " ".join(
        (
            format_station(one["station_m"], "feet"),
            f"{one['kind']}, {how}",
            "yes" if one["exposed"] else "no",
            *(format_length(one[name], "feet", "down") for name in LEFT),
            format_length(one["required_m"], "feet", "up"),
            one["verdict"],
        )
    )


LEFT = ("horizontal_m", "vertical_m", "separation_m", "worst_case_m")


def said_with(one):
    """What stands with a crossing on its own page."""
    yield f"{one['mark_ref']} at station {format_station(one['station_m'], 'feet')} ft"
    yield f"{one['verdict'].capitalize()}. {one['sentence']}"
    for name in (*LEFT, "likely_m"):
        title = name.removesuffix("_m").replace("_", " ").capitalize()
        yield f"{title} {format_length(one[name], 'feet', 'down')}"
    yield f"Required {format_length(one['required_m'], 'feet', 'up')}"
    yield f"Exposed: {'yes' if one['exposed'] else 'no'}"


def test_a_release_in_force_is_on_the_cover_with_its_grounds_and_in_the_ledger(bore, release):
    [cover, *rest] = read_back(bore)
    assert squeezed("Released All 8 checks pass as of this record.") in cover
    assert squeezed("Release Bram Orley") in cover
    assert squeezed("For Crew 2 with Rig 7.") in cover
    assert squeezed("In force as of this record.") in cover
    assert release.grounds_digest in cover
    entry = LedgerEntry.objects.get(kind="release")
    assert entry.content_sha256 + entry.entry_sha256 in rest[-1]


def test_a_release_that_lapsed_is_not_in_force_and_says_why(bore, release):
    mark = Mark.objects.get()
    mark.located_by = "another locator"
    mark.save()
    [cover, *_] = read_back(bore)
    assert squeezed("Not released") in cover
    assert squeezed(f"Lapsed as of this record. Mark {mark.ref} was changed") in cover
    assert squeezed("In force as of this record.") not in cover


def test_a_release_is_withdrawn_once_that_is_stored_though_it_was_dated_ahead(bore, release, foreman):
    withdrawal = ReleaseWithdrawal(release=release, reason="Rain.")
    withdraw_release(withdrawal, by=foreman, at=timezone.now() + timedelta(minutes=10))
    [cover, *_] = read_back(bore)
    assert squeezed("Not released") in cover
    assert squeezed("by Bram Orley: Rain.") in cover


def test_a_variance_in_force_excuses_its_crossing_and_leaves_its_figures_as_they_are(bore):
    TestHole.objects.all().delete()
    [one] = assess(bore, timezone.now())["crossings"]
    manager = factories.person_in_role("Safety manager", first_name="Cora", last_name="Tims")
    asked = Variance(
        bore=bore,
        subject="crossing",
        mark=Mark.objects.get(),
        kind=one["kind"],
        station_m=one["station_m"],
        reason="The main cannot be exposed before the street is closed.",
    )
    request_variance(asked, by=factories.person_in_role("Foreman"))
    now = timezone.now()
    signed = VarianceSignature(variance=asked, valid_from=now, valid_until=now + timedelta(days=2))
    assert squeezed("Not signed: it excuses nothing.") in "".join(read_back(bore))
    sign_variance(signed, by=manager)
    pages = read_back(bore)
    assert squeezed("Variance Cora Tims") in pages[0]
    whole = "".join(pages)
    assert squeezed(asked.reason) in whole
    assert squeezed("In force as of this record.") in whole
    assert squeezed("unexposed") in whole


def test_a_pass_that_nobody_watched_is_named_and_one_that_was_seen_has_its_gap(bore, foreman):
    [one] = assess(bore, timezone.now())["crossings"]
    watch = CrossingWatch(
        bore=bore,
        mark=Mark.objects.get(),
        kind=one["kind"],
        station_m=one["station_m"],
        pass_made="pilot",  # noqa: S106 - what passed the line
        seen=True,
        gap_m=0.9,
        required_m=one["required_m"],
    )
    record_watch(watch, by=foreman)
    whole = "".join(read_back(bore))
    gap = format_length(0.9, "feet", "down")
    required = format_length(one["required_m"], "feet", "up")
    assert squeezed(f"pilot yes {gap} {required} unknown") in whole
    assert squeezed("Passes that are not settled: reaming, pullback.") in whole
    assert LedgerEntry.objects.get(kind="watch").entry_sha256 in whole


def test_photos_are_in_the_file_byte_by_byte_as_the_copies_for_paper_and_in_the_ledger(bore, foreman):
    photos = [
        keep_photo(subject, ContentFile(jpeg(900, 700, shade=shade), name=f"{shade}.jpg"), by=foreman)
        for shade, subject in ((40, TestHole.objects.get()), (200, Mark.objects.get()), (120, bore))
    ]
    content = render_record(read_clearance_record(bore.pk)).content
    assert sorted(photo_files(content)) == sorted(bytes(photo.print_copy) for photo in photos)
    whole = "".join(page_texts(content))
    for photo in photos:
        assert photo.sha256 in whole
        assert LedgerEntry.objects.get(record_id=photo.pk).entry_sha256 in whole


def test_no_file_is_made_that_lacks_a_picture(bore, foreman):
    keep_photo(bore, ContentFile(jpeg(), name="hole.jpg"), by=foreman)
    record = read_clearance_record(bore.pk)
    render_record(record)
    [photo] = record.photos
    for spoiled in (
        replace(record, photos=(replace(photo, print_copy=b"no picture"),)),
        replace(record, plan=Picture("<svg", "A plan that ends too early.")),
    ):
        with pytest.raises(IncompleteRecordError, match="Failed to load image"):
            render_record(spoiled)


def test_plan_profile_and_cross_section_are_drawn_with_the_paint_of_the_line(bore):
    content = render_record(read_clearance_record(bore.pk)).content
    heads = ("Plan North up", "Profile To scale", "Crossing 1:")
    texts = page_texts(content)
    for head in heads:
        number = next(place for place, text in enumerate(texts) if squeezed(head) in text)
        assert paint_px(pictured(content, number)) > 20
    assert paint_px(pictured(content, 0)) == 0


def paint_px(picture):
    """How many points of a page are of the gas lines' paint."""
    colours = picture.getcolors(picture.width * picture.height)
    return sum(count for count, colour in colours if colour == GAS_PAINT)
