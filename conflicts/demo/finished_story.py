"""How the finished job was drilled, told by signed records through the functions that a page calls.

All in the past, each at its moment of April 21, 2026; the ledger says besides when the demo was loaded.
"""

import json
from datetime import datetime
from zoneinfo import ZoneInfo

from django.core.files.base import ContentFile

from conflicts.demo.hole_pictures import HolePicture, draw_hole
from conflicts.demo.people import DemoPeople
from conflicts.desk.sign_walk import sign_walk
from conflicts.models import Bore, DailyWalk
from locates.desk.keep_photo import keep_photo
from locates.desk.save_record import save_record
from locates.exchange.job_documents import document_text
from locates.models import Job

ZONE = ZoneInfo("America/Los_Angeles")


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


def _fill_holes(job: Job, people: DemoPeople) -> None:
    for hole in job.test_holes.all():
        hole.is_open = False
        save_record(hole, by=people.foreman, opened_version=hole.version)
