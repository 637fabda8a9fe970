"""All that was called in, painted and found on a job, read for its sheet in a fixed number of queries."""

import re
from dataclasses import dataclass
from uuid import UUID

from django.db.models import F, Prefetch

from locates.contradictions import Contradiction, by_ticket
from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    Job,
    Mark,
    Response,
    Retirement,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from locates.models.answer_conflicts import contradictions_of


@dataclass(frozen=True, slots=True)
class JobSheet:
    """The records of one job, each list in the order in which a person looks things up."""

    operators: list[FacilityOperator]
    requirements: list[ClearanceRequirement]
    tickets: list[Ticket]
    latest_responses: frozenset[UUID]
    contradictions: dict[UUID, list[Contradiction]]
    marks: list[Mark]
    test_holes: list[TestHole]
    surface_features: list[SurfaceFeature]
    retirements: list[Retirement]

    @property
    def asks_of_every_line(self) -> bool:
        """Whether a requirement of the job fits every line, so that the program's own never counts."""
        return any(not one.operator_id and not one.facility_type for one in self.requirements)


def read_job_sheet(job: Job) -> JobSheet:
    """Read the records of ``job``; responses come with their history, those that count named apart."""
    responses = Response.objects.select_related("operator").order_by("sequence")
    tickets = list(job.tickets.prefetch_related(Prefetch("responses", queryset=responses)))
    return JobSheet(
        operators=list(job.operators.order_by("name")),
        requirements=list(
            job.requirements.select_related("operator").order_by(
                F("operator__name").asc(nulls_last=True), "-facility_type"
            )
        ),
        tickets=tickets,
        latest_responses=frozenset(
            Response.objects.filter(ticket__job=job).latest_each().values_list("id", flat=True)
        ),
        contradictions=by_ticket(contradictions_of([ticket.pk for ticket in tickets])),
        marks=sorted(job.marks.select_related("operator", "ticket"), key=_place),
        test_holes=sorted(job.test_holes.select_related("mark", "ticket"), key=_place),
        surface_features=sorted(job.surface_features.select_related("explained_by_mark"), key=_place),
        retirements=list(job.retirements.not_undone().select_related("retired_by", "job")),
    )


def _place(record: Mark | TestHole | SurfaceFeature) -> list[tuple[bool, int, str]]:
    """Sort key by reference, numbers by their value: TH-2 before TH-10."""
    parts = re.split(r"(\d+)", record.ref)
    return [(part.isdecimal(), int(part) if part.isdecimal() else 0, part) for part in parts]
