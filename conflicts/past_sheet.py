"""What the pages of the past show: read by the present code, inside `locates.as_of.as_of`."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from conflicts.bore_states import BoreState, computed_states
from conflicts.desk.walk_sheet import WalkSheet, walk_sheet
from conflicts.desk.watch_records import cameras_of, watches_of
from conflicts.drilled_beside import DrilledBeside, drilled_beside
from conflicts.gather_rods import gather_rods
from conflicts.ground_changes import changes_since
from conflicts.map_summary import bore_map_summary, job_map_summary
from conflicts.models import Bore, CameraInspection, CrossingWatch, Release
from conflicts.release import Standing, standing_at
from locates.desk.job_sheet import JobSheet, read_job_sheet
from locates.models import FacilityOperator, Job

THEN = "then"


@dataclass(frozen=True, slots=True)
class PastJob:
    """A job as it stood: its sheet and its bores, and what its map shows in words."""

    job: Job
    sheet: JobSheet
    bores: list[BoreState]
    map_words: str


@dataclass(frozen=True, slots=True)
class PastBore:
    """A bore as it stood: its state, its releases with their standing, operators, and its map in words.

    And what was seen at its site: a page of its walks, its watches and camera inspections, and what was
    drilled of it where it could be computed.
    """

    bore: Bore
    state: BoreState
    releases: list[tuple[Release, Standing]]
    operators: list[FacilityOperator]
    map_words: str
    walks: WalkSheet
    watches: list[CrossingWatch]
    cameras: list[CameraInspection]
    beside: DrilledBeside | None


def read_past_job(job_id: UUID, at: datetime) -> PastJob | None:
    """The job as it stood; None where it was not there, or was retired."""
    job = Job.objects.with_grounds().filter(pk=job_id).first()
    if job is None:
        return None
    states = computed_states(job.bores.order_by("name"), at)
    return PastJob(job, read_job_sheet(job), states, job_map_summary(job, at, THEN))


def read_past_bore(bore_id: UUID, at: datetime, walks_page: str | None = None) -> PastBore | None:
    """The bore as it stood; None where it was not there, or was retired."""
    bores = Bore.objects.select_related("job__organisation", "job__jurisdiction").prefetch_related("pits")
    bore = bores.filter(pk=bore_id).first()
    if bore is None:
        return None
    [state] = computed_states([bore], at)
    beside = None
    if state.assessed is not None:
        beside = drilled_beside(state.assessed.scene, gather_rods([bore])[bore.pk])
    return PastBore(
        bore=bore,
        state=state,
        releases=_releases(bore, at),
        operators=list(bore.job.operators.order_by("name")),
        map_words=bore_map_summary(bore, at, THEN),
        walks=walk_sheet(bore, at, walks_page),
        watches=list(watches_of(bore)),
        cameras=list(cameras_of(bore)),
        beside=beside,
    )


def _releases(bore: Bore, at: datetime) -> list[tuple[Release, Standing]]:
    """Releases signed by then, the last first, each as it stood then and not as it stands now."""
    releases = Release.objects.filter(bore=bore, signed_at__lte=at).with_course().newest_first()
    found = []
    for release in releases:
        # The record of events is whole here: what came after the moment had changed nothing yet.
        changes = changes_since(release.bore, release.last_event_id)
        until_then = [change for change in changes if change.happened_at <= at]
        found.append((release, standing_at(release, at, until_then)))
    return found
