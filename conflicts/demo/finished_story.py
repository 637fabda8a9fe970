"""How the finished job was drilled, told by signed records through the functions that a page calls.

All in the past, each at its moment of April 21, 2026; the ledger says besides when the demo was loaded.
"""

import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.core.files.base import ContentFile

from conflicts.demo.hole_pictures import HolePicture, draw_hole
from conflicts.demo.pass_story import passes_of_hole
from conflicts.demo.people import DemoPeople
from conflicts.demo.rod_story import check_of_device, rods_of_pilot
from conflicts.demo.signing import sign
from conflicts.desk.close_out import close_out
from conflicts.desk.record_watch import record_camera
from conflicts.desk.sign_walk import sign_walk
from conflicts.models import (
    Bore,
    CameraInspection,
    CameraResult,
    CameraStage,
    CloseOut,
    CrossingWatch,
    DailyWalk,
    DrilledRod,
    PassMade,
    Release,
    RodWithdrawal,
)
from conflicts.models.signed import name_of
from conflicts.release import sign_release
from locates.desk.keep_photo import keep_photo
from locates.desk.save_record import save_record
from locates.exchange.job_documents import document_text
from locates.models import FacilityType, Job

ZONE = ZoneInfo("America/Los_Angeles")


# When the first line was passed, how long from one line to the next, and how much nearer than the finished
# hole's planned edge it came: the pilot's own edge is farther away.
PASSES = (
    (PassMade.PILOT, datetime(2026, 4, 21, 8, 35, tzinfo=ZONE), timedelta(minutes=24), -0.03),
    (PassMade.REAMING, datetime(2026, 4, 21, 12, 10, tzinfo=ZONE), timedelta(minutes=11), 0.02),
    (PassMade.PULLBACK, datetime(2026, 4, 21, 14, 5, tzinfo=ZONE), timedelta(minutes=8), 0.01),
)


def with_holes_open(file: bytes) -> bytes:
    """The job's file as it was on the day of drilling, before the test holes were filled."""
    document = json.loads(file)
    for feature in document["features"]:
        if feature["properties"]["kind"] == "test_hole":
            feature["properties"]["is_open"] = True
    return document_text(document).encode()


def tell_finished_job(job: Job, people: DemoPeople) -> None:
    """Sign what the crew signed that day, then fill the holes."""
    bore = job.bores.get()
    _photograph_holes(job, people)
    _walk(bore, people)
    sign(check_of_device(bore, people, _at(7, 25)), by=people.foreman)
    release = _release(bore, people)
    # What was seen and what was logged happened by turns.
    seen = [(one.watched_at, one) for one in _watches(release, people)]
    logged = [(_moment(one), one) for one in rods_of_pilot(bore, people, _at(8, 0))]
    reamed, pulled = (_at(12, 0), _at(13, 20)), (_at(13, 40), _at(14, 58))
    logged += [(one.logged_at, one) for one in passes_of_hole(bore, people, reamed, pulled)]
    for _, record in sorted([*seen, *logged], key=lambda one: one[0]):
        sign(record, by=people.foreman)
    _look_into_sewer(bore, people)
    _close_out(bore, people)
    _fill_holes(job, people)


def _at(hour: int, minute: int) -> datetime:
    return datetime(2026, 4, 21, hour, minute, tzinfo=ZONE)


def _photograph_holes(job: Job, people: DemoPeople) -> None:
    for hole in job.test_holes.select_related("mark"):
        words = f"{hole.ref}  {hole.mark.ref}  top at {hole.depth_to_top_m:.2f} m"
        picture = draw_hole(HolePicture(words, hole.mark.facility_type))
        keep_photo(
            hole,
            ContentFile(picture, name=f"{hole.ref}.jpg"),
            by=people.foreman,
            taken_at=hole.measured_at,
            position=hole.position,
            error_m=4.0,
        )


def _walk(bore: Bore, people: DemoPeople) -> None:
    walk = DailyWalk(
        bore=bore,
        marks_intact=True,
        device_checked=True,
        device="Locator 3, checked over the trial rod at the yard",
        holes_open=True,
        remarks="Frost on the paint at the gutter, all six lines still to be read.",
    )
    sign_walk(walk, by=people.foreman, at=_at(7, 10))


def _release(bore: Bore, people: DemoPeople) -> Release:
    release = Release(
        bore=bore, shift_from=_at(8, 0), shift_until=_at(16, 30), crew="Crew 2, I. Pallow", rig="Rig 14, 9 t"
    )
    return sign_release(release, by=people.foreman, at=_at(7, 40))


def _moment(record: DrilledRod | RodWithdrawal) -> datetime:
    return record.logged_at if isinstance(record, DrilledRod) else record.withdrawn_at


def _watches(release: Release, people: DemoPeople) -> Iterator[CrossingWatch]:
    """Each pass at each crossing, in order of station, with the gap that was left; not stored yet."""
    marks = {mark.ref: mark for mark in release.bore.job.marks.all()}
    for pass_made, begins_at, minutes, closer_m in PASSES:
        for place, crossing in enumerate(release.document["crossings"]):
            yield CrossingWatch(
                bore=release.bore,
                mark=marks[crossing["mark_ref"]],
                kind=crossing["kind"],
                station_m=crossing["station_m"],
                pass_made=pass_made,
                seen=True,
                gap_m=round(crossing["separation_m"] - closer_m, 2),
                required_m=crossing["required_m"],
                watched_by=people.foreman,
                watched_by_name=name_of(people.foreman),
                watched_at=begins_at + place * minutes,
            )


def _look_into_sewer(bore: Bore, people: DemoPeople) -> None:
    inspection = CameraInspection(
        bore=bore,
        mark=bore.job.marks.get(facility_type=FacilityType.SEWER_DRAIN),
        stage=CameraStage.AFTER,
        inspected_at=_at(15, 40),
        inspected_by="Marrow Ridge Pipe Inspection",
        result=CameraResult.NO_DAMAGE,
        remarks="From the cleanout at lot 4 to the main: no conduit, no crack. The inspector keeps the film.",
    )
    record_camera(inspection, by=people.foreman)


def _close_out(bore: Bore, people: DemoPeople) -> None:
    closing = CloseOut(bore=bore, remarks="All holes watched in every pass. Filled the same evening.")
    close_out(closing, by=people.safety_manager, at=_at(16, 10))


def _fill_holes(job: Job, people: DemoPeople) -> None:
    for hole in job.test_holes.all():
        hole.is_open = False
        save_record(hole, by=people.foreman, opened_version=hole.version)
