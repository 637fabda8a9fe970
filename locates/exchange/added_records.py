"""Records added to a job that is there, from features of the job file; called inside a transaction."""

from collections.abc import Callable, Iterable
from typing import Any

from django.contrib.auth.models import AbstractBaseUser

from locates.changes import job_changed
from locates.exchange.job_records import ground_point_of, linework_of, mark_of, test_hole_of
from locates.models import FacilityOperator, GroundPoint, Job, Linework, Mark, TestHole, Ticket
from locates.models.retirable import Retirable

RECORDS_AT_A_TIME = 500


def add_records(
    job: Job,
    features: list[dict[str, Any]],
    *,
    by: AbstractBaseUser | None,
    told: Callable[[int], None] = lambda count: None,
) -> int:
    """Store features of marks, test holes, ground points and linework; operators that are new come along.

    ``told`` takes how many are stored, now and then.
    """
    done = 0

    def store(model: type[Retirable], records: list[Any]) -> None:
        nonlocal done
        for start in range(0, len(records), RECORDS_AT_A_TIME):
            done += _store(model, records[start : start + RECORDS_AT_A_TIME], by)
            told(done)

    by_kind: dict[str, list[dict[str, Any]]] = {}
    for feature in features:
        by_kind.setdefault(feature["properties"]["kind"], []).append(feature)
    tickets = {ticket.number: ticket for ticket in Ticket.objects.filter(job=job)}
    operators = _operators(job, by_kind.get("mark", []), by)
    marks = [mark_of(job, feature, operators, tickets) for feature in by_kind.get("mark", [])]
    store(Mark, marks)
    named = {mark.ref: mark for mark in Mark.objects.filter(job=job)}
    holes = [test_hole_of(job, feature, named, tickets) for feature in by_kind.get("test_hole", [])]
    store(TestHole, holes)
    store(GroundPoint, [ground_point_of(job, feature) for feature in by_kind.get("ground_point", [])])
    store(Linework, [linework_of(job, feature) for feature in by_kind.get("linework", [])])
    job_changed(job.pk)
    return len(features)


def _store(model: type[Retirable], records: list[Any], by: AbstractBaseUser | None) -> int:
    for record in records:
        record.edited_by = by
    model.objects.bulk_create(records)
    return len(records)


def _operators(
    job: Job, marks: Iterable[dict[str, Any]], by: AbstractBaseUser | None
) -> dict[str, FacilityOperator]:
    found = {operator.name: operator for operator in FacilityOperator.objects.filter(job=job)}
    for feature in marks:
        name = feature["properties"]["operator"]
        if name not in found:
            found[name] = FacilityOperator.objects.create(job=job, name=name, edited_by=by)
    return found
