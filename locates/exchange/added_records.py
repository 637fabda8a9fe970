"""Records added to a job that is there, from features of the job file; called inside a transaction."""

from collections.abc import Iterable
from typing import Any

from locates.changes import job_changed
from locates.exchange.job_records import ground_point_of, linework_of, mark_of, test_hole_of
from locates.models import FacilityOperator, GroundPoint, Job, Linework, Mark, TestHole, Ticket


def add_records(job: Job, features: list[dict[str, Any]]) -> int:
    """Store features of marks, test holes, ground points and linework; operators that are new come along."""
    by_kind: dict[str, list[dict[str, Any]]] = {}
    for feature in features:
        by_kind.setdefault(feature["properties"]["kind"], []).append(feature)
    tickets = {ticket.number: ticket for ticket in Ticket.objects.filter(job=job)}
    operators = _operators(job, by_kind.get("mark", []))
    Mark.objects.bulk_create(mark_of(job, feature, operators, tickets) for feature in by_kind.get("mark", []))
    marks = {mark.ref: mark for mark in Mark.objects.filter(job=job)}
    TestHole.objects.bulk_create(
        test_hole_of(job, feature, marks, tickets) for feature in by_kind.get("test_hole", [])
    )
    GroundPoint.objects.bulk_create(
        ground_point_of(job, feature) for feature in by_kind.get("ground_point", [])
    )
    Linework.objects.bulk_create(linework_of(job, feature) for feature in by_kind.get("linework", []))
    job_changed(job.pk)
    return len(features)


def _operators(job: Job, marks: Iterable[dict[str, Any]]) -> dict[str, FacilityOperator]:
    found = {operator.name: operator for operator in FacilityOperator.objects.filter(job=job)}
    for feature in marks:
        name = feature["properties"]["operator"]
        if name not in found:
            found[name] = FacilityOperator.objects.create(job=job, name=name)
    return found
