"""The two invented jobs, loaded into an empty database, the running one as of the week it is loaded in.

All of it is invented: town, streets, companies, people, lines and figures. The jurisdictions' rules alone are
real. The coordinates lie in a forest of Virginia and in the high desert of Oregon, where there is no street.

Quillmark Street (VA) is to be drilled from next Monday on, and much is missing. Tinder Loop (OR) was drilled
on April 21, 2026, with every crossing clear, as signed records tell rod by rod; its test holes are filled
and its tickets have run out.
"""

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from conflicts.demo.finished_story import tell_finished_job, with_holes_open
from conflicts.demo.people import keep_demo_people
from conflicts.demo.reader import keep_demo_reader
from conflicts.demo.running_story import tell_running_job
from conflicts.exchange.whole_job import load_job
from locates.exchange.job_documents import document_text
from locates.exchange.moments import read_moment
from locates.models import Job

FOLDER = Path(__file__).parent
RUNNING_JOB = FOLDER / "quillmark_street.geojson"
FINISHED_JOB = FOLDER / "tinder_loop.geojson"

# Monday of the week that the running job is written for: what has been done was done before it, and the
# drilling starts on the Monday after it.
WRITTEN_FOR = date(2026, 9, 28)


def load_demo_jobs(today: date) -> list[Job]:
    """The jobs loaded, both or none; nothing where the database holds a job already."""
    with transaction.atomic():
        if Job.objects.exists():
            return []
        jobs = [load_job(running_job(today)), load_job(with_holes_open(FINISHED_JOB.read_bytes()))]
        keep_demo_reader(jobs[0].organisation)
        people = keep_demo_people(jobs[0].organisation)
        tell_running_job(jobs[0], people, _weeks(today))
        tell_finished_job(jobs[1], people)
        return jobs


def running_job(today: date) -> bytes:
    """The running job's file with its dates moved to the week of a day.

    They move by whole weeks: working days stay working days, as the tickets' dates ask.
    """
    document = json.loads(RUNNING_JOB.read_bytes())
    weeks = _weeks(today)
    zone = ZoneInfo(document["job"]["time_zone"])
    for feature in document["features"]:
        _move(feature["properties"], weeks, zone)
        for response in feature["properties"].get("responses", []):
            _move(response, weeks, zone)
    return document_text(document).encode()


def _weeks(today: date) -> timedelta:
    """Whole weeks from the week that the running job is written for to that of a day."""
    return timedelta(days=(today - WRITTEN_FOR).days // 7 * 7)


def _move(members: dict[str, Any], by: timedelta, zone: ZoneInfo) -> None:
    """Move every moment, keeping what the clock shows in the zone."""
    for name in members:
        if name.endswith("_at"):
            # A sum with a moment of one zone is of the clock: a change to or from summer time shows nothing.
            members[name] = (read_moment(members[name]).astimezone(zone) + by).isoformat()
