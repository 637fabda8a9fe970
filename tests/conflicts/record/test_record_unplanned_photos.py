"""The photos of crossings that are not of the plan are printed like any other, and the record is made."""

from uuid import uuid4

import pytest
from django.core.files.base import ContentFile
from django.utils import timezone

from conflicts.desk.record_watch import record_camera
from conflicts.models import CameraInspection, CrossingWatch
from conflicts.record import make
from conflicts.record.ask import ask_for_record
from locates.desk.keep_photo import keep_photo
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.conflicts.rods.test_lines_beside import AWAY
from tests.conflicts.rods.test_lines_met_then import drill
from tests.conflicts.site.test_lost_stops import move_away, release, see
from tests.pdf_reading import page_texts, photo_files, squeezed
from tests.photo_files import jpeg
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A bore that was released over one gas line at 50 m."""
    stored = bore_of_today()
    release(stored, factories.PersonFactory())
    return stored


def photograph(subject, shade):
    keep_photo(
        subject,
        ContentFile(jpeg(900, 700, shade=shade), name=f"shade {shade}.jpg"),
        by=factories.PersonFactory(),
    )


def made(bore):
    """The row of a record as a worker leaves it."""
    row = ask_for_record(bore, uuid4(), by=factories.PersonFactory())
    make.run(row.pk)
    row.refresh_from_db()
    return row


def test_a_photo_of_a_watch_stays_in_the_record_when_its_crossing_goes(bore):
    see(bore, factories.PersonFactory())
    photograph(CrossingWatch.objects.get(), 33)
    before = made(bore)
    assert (before.state, len(photo_files(bytes(before.content)))) == ("done", 1)
    move_away(bore)
    record = read_clearance_record(bore.pk)
    assert [len(one.photos) for one in record.gone] == [1]
    assert record.all_photos() == [*record.gone[0].photos]
    row = made(bore)
    assert (row.state, row.failure) == ("done", "")
    assert photo_files(bytes(row.content)) == photo_files(bytes(before.content))
    assert squeezed("shade 33.jpg") in "".join(page_texts(bytes(row.content)))


def test_photos_of_a_line_that_only_the_drilled_hole_meets_are_in_the_record(bore):
    sewer = factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        ref="SS9",
        facility_type="sewer_drain",
        geometry=factories.line((70.0, -9.0), (70.0, -4.0)),
    )
    drill(bore, AWAY)
    look = CameraInspection(
        bore=bore,
        mark=sewer,
        stage="after",
        inspected_at=timezone.now(),
        inspected_by="Cam",
        result="no_damage",
    )
    record_camera(look, by=factories.PersonFactory())
    photograph(look, 44)
    record = read_clearance_record(bore.pk)
    assert [len(one.photos) for one in record.drilled_alone] == [1]
    row = made(bore)
    assert (row.state, row.failure) == ("done", "")
    assert len(photo_files(bytes(row.content))) == 1
    assert squeezed("shade 44.jpg") in "".join(page_texts(bytes(row.content)))
