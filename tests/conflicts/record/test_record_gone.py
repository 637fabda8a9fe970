"""The clearance record tells of released crossings that are not there any more, and counts in words."""

import pytest
from django.utils import timezone

from conflicts.desk.record_watch import record_camera, record_watch
from conflicts.models import CameraInspection, CrossingWatch
from conflicts.record.render import render_record
from locates.desk.retire import retire
from locates.local_time import format_moment
from locates.models import Mark
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.conflicts.rods.test_lines_beside import AWAY
from tests.conflicts.rods.test_lines_met_then import drill
from tests.conflicts.site.test_lost_stops import move_away, release, see
from tests.pdf_reading import page_texts, squeezed
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A bore that was released over one gas line at 50 m."""
    bore = bore_of_today()
    release(bore, factories.PersonFactory())
    return bore


def record_of(bore):
    return read_clearance_record(bore.pk, timezone.now())


def words_of(record):
    return "".join(page_texts(render_record(record).content))


def test_a_released_crossing_that_is_gone_stands_in_a_table_of_its_own(bore):
    assert record_of(bore).gone == ()
    see(bore, factories.PersonFactory())
    move_away(bore)
    words = words_of(record_of(bore))
    assert squeezed("Crossings that were released or drilled past, and are not there any more") in words
    [row] = record_of(bore).gone
    assert (row.mark_ref, row.verdict, row.required_m) == (Mark.objects.get().ref, "clear", 0.305)
    assert squeezed(f"released {format_moment(row.named_at, bore.job.time_zone)} as clear") in words
    assert squeezed("Pilot seen, gap 1 ft 11 1/2 in") in words
    assert squeezed("Passes that are not settled: reaming, pullback.") in words
    assert squeezed("Watches that prove no crossing") not in words


def test_a_line_that_a_rod_met_and_that_is_retired_since_stands_there_too(bore):
    sewer = factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        ref="SS9",
        facility_type="sewer_drain",
        geometry=factories.line((70.0, -9.0), (70.0, -4.0)),
    )
    drill(bore, AWAY)
    retire(sewer, by=factories.PersonFactory())
    [row] = record_of(bore).gone
    assert (row.mark_ref, row.met_by_rod) == ("SS9", 4)
    assert squeezed("rod 4 met it, logged") in words_of(record_of(bore))


def test_one_crossing_is_told_in_the_singular(bore):
    record = record_of(bore)
    assert squeezed("On 1 crossing; checks that held then: none.") in words_of(record)
    assert "the 1 crossing at its station, heights" in record.profile.words


def test_a_line_that_only_the_drilled_hole_meets_is_told_with_its_watches_and_cameras(bore):
    sewer = factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        ref="SS9",
        facility_type="sewer_drain",
        geometry=factories.line((70.0, -9.0), (70.0, -4.0)),
    )
    assert record_of(bore).drilled_alone == ()
    last = None
    for east_m, north_m in ((20.0, 0.0), (40.0, -2.0), (60.0, -5.0), (80.0, -5.0)):
        longitude, latitude = factories.point(east_m, north_m).coords
        last = factories.DrilledRodFactory(
            bore=bore, after=last, length_m=20.0, depth_m=2.0, dot_longitude_deg=longitude,
            dot_latitude_deg=latitude,
        )  # fmt: skip
    [row] = record_of(bore).drilled_alone
    at_line = {"bore": bore, "mark": sewer}
    pilot = {"pass_made": "pilot", "seen": True, "gap_m": 0.7}
    watch = CrossingWatch(kind=row.kind, station_m=row.station_m, **pilot, **at_line)
    record_watch(watch, by=factories.PersonFactory())
    look = CameraInspection(
        stage="after", inspected_at=timezone.now(), inspected_by="Cam", result="no_damage", **at_line
    )
    record_camera(look, by=factories.PersonFactory())
    made = record_of(bore)
    [row] = made.drilled_alone
    assert [one.gap_m for one in row.watches] == [0.7]
    words = words_of(made)
    for told in ("Lines that only the drilled hole meets", "SS9", "Pilot seen, gap", "Camera inspection"):
        assert squeezed(told) in words
    assert made.lost_watches == ()
