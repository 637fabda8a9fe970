"""All that was called in, painted and found on a job, read for its sheet in a fixed number of queries."""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import F, Prefetch

from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    Job,
    Mark,
    Response,
    SurfaceFeature,
    TestHole,
    Ticket,
)


@dataclass(frozen=True, slots=True)
class JobSheet:
    """The records of one job, each list in the order in which a person looks things up."""

    operators: list[FacilityOperator]
    requirements: list[ClearanceRequirement]
    tickets: list[Ticket]
    latest_responses: frozenset[UUID]
    marks: list[Mark]
    test_holes: list[TestHole]
    surface_features: list[SurfaceFeature]


def read_job_sheet(job: Job) -> JobSheet:
    """Read the records of ``job``; responses come with their history, those that count named apart."""
    responses = Response.objects.select_related("operator").order_by("sequence")
    return JobSheet(
        operators=list(job.operators.order_by("name")),
        requirements=list(
            job.requirements.select_related("operator").order_by(
                F("operator__name").asc(nulls_last=True), "-facility_type"
            )
        ),
        tickets=list(job.tickets.prefetch_related(Prefetch("responses", queryset=responses))),
        latest_responses=frozenset(
            Response.objects.filter(ticket__job=job).latest_each().values_list("id", flat=True)
        ),
        marks=list(job.marks.select_related("operator", "ticket").order_by("ref")),
        test_holes=list(job.test_holes.select_related("mark", "ticket").order_by("ref")),
        surface_features=list(job.surface_features.select_related("explained_by_mark").order_by("ref")),
    )
