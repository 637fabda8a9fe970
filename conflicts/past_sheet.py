"""What the pages of the past show: read by the present code, inside `locates.as_of.as_of`."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from conflicts.bore_states import BoreState, computed_states
from conflicts.map_summary import bore_map_summary, job_map_summary
from conflicts.models import Bore
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
    """A bore as it stood: its state, the operators of its job, and what its map shows in words."""

    bore: Bore
    state: BoreState
    operators: list[FacilityOperator]
    map_words: str


def read_past_job(job_id: UUID, at: datetime) -> PastJob | None:
    """The job as it stood; None where it was not there, or was retired."""
    job = Job.objects.with_grounds().filter(pk=job_id).first()
    if job is None:
        return None
    states = computed_states(job.bores.order_by("name"), at)
    return PastJob(job, read_job_sheet(job), states, job_map_summary(job, at, THEN))


def read_past_bore(bore_id: UUID, at: datetime) -> PastBore | None:
    """The bore as it stood; None where it was not there, or was retired."""
    bores = Bore.objects.select_related("job__organisation", "job__jurisdiction").prefetch_related("pits")
    bore = bores.filter(pk=bore_id).first()
    if bore is None:
        return None
    [state] = computed_states([bore], at)
    operators = list(bore.job.operators.order_by("name"))
    return PastBore(bore, state, operators, bore_map_summary(bore, at, THEN))
