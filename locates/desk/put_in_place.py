"""Put the records of a file in the place of those that a job has; nothing of these is deleted."""

from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.apps import apps
from django.db import models
from django.db.models import Max, Q
from django.utils import timezone

from locates.desk.dependents import Ids, counted
from locates.desk.retire import loosen
from locates.desk.same_records import (
    differs,
    same_answers,
    same_operators,
    same_requirements,
    stated_fields,
)
from locates.exchange.job_records import Properties, Records, locates_records, operators_of
from locates.models import ClearanceRequirement, FacilityOperator, Job, Response, Retirement
from locates.models.retirable import LIVE, Retirable

REPLACED = "What a job file took the place of"

Rows = dict[UUID, Retirable]


def records_in_place(job: Job, document: Properties) -> Records:
    """The file's records of this package, those that the job has already under the ids that they have."""
    operators = operators_of(job, document)
    same_operators(operators, list(FacilityOperator.objects.filter(job=job)))
    records = locates_records(job, document, operators)
    same_requirements(records[ClearanceRequirement], list(ClearanceRequirement.objects.filter(job=job)))
    places = Response.with_retired.filter(ticket__job=job).values_list("ticket_id").annotate(Max("sequence"))
    same_answers(
        records[Response],
        list(Response.objects.filter(ticket__job=job)),
        {ticket_id: last + 1 for ticket_id, last in places},
    )
    return records


def put_in_place(job: Job, records: Records) -> None:
    """Store a file's records in the place of all that the job has live, inside the caller's transaction.

    A record of the job that the file names by its id stays itself: written anew where the file says something
    else, live again where it was retired, and left alone where nothing differs. The rest is retired under one
    token. ``records`` gives every kind whose records the job may hold, owners first; for a kind of which the
    file has none it gives an empty list.
    """
    at = timezone.now()
    present = {model: _hold(job, model, {one.pk for one in written}) for model, written in records.items()}
    gone = {
        model: {pk for pk, row in rows.items() if row.retired_at is None} - {one.pk for one in records[model]}
        for model, rows in present.items()
    }
    token = _retire(job, {model: ids for model, ids in gone.items() if ids}, at)
    for model, written in records.items():
        _write(model, written, present[model], at)
    if token is not None:
        loosen({model: ids for model, ids in gone.items() if ids}, token)
        token.save(update_fields=["loosened"])
    _close_tokens(job, records, present, at)


def of_job(model: type[Retirable], job: Job) -> Q:
    """Which records of a kind belong to a job, be it by way of their owner."""
    return Q(**{_path_to_job(model): job})


def kept_for_good(job: Job, kinds: Collection[type[Retirable]]) -> list[str]:
    """What hangs on a job or on its records, retired ones too, and would be left behind by a replacement.

    Parameters
    ----------
    job : Job
        Which the caller holds, as whoever signs does.
    kinds : collection of model classes
        Of its records.

    Returns
    -------
    list of str
        The kinds of what hangs on them, in words, sorted.
    """
    found = set()
    for model in (Job, *kinds):
        ours = Q(pk=job.pk) if model is Job else of_job(model, job)
        for relation in model._meta.related_objects:
            if relation.on_delete is models.PROTECT:
                named = {f"{relation.field.name}__in": model.with_retired.filter(ours).values("pk")}
                if relation.related_model._base_manager.filter(**named).exists():
                    found.add(str(relation.related_model._meta.verbose_name))
    return sorted(found)


def _path_to_job(model: type[Retirable]) -> str:
    columns = {field.name: field for field in model._meta.concrete_fields}
    if "job" in columns:
        return "job"
    [owner] = [
        column
        for column in columns.values()
        if isinstance(column, models.ForeignKey) and column.remote_field.on_delete is models.CASCADE
    ]
    return f"{owner.name}__{_path_to_job(owner.related_model)}"


def _hold(job: Job, model: type[Retirable], named: set[UUID]) -> Rows:
    """The job's live records of a kind and those that a file names, locked."""
    ours = model.with_retired.filter(LIVE | Q(pk__in=named)).filter(of_job(model, job))
    return {row.pk: row for row in ours.select_for_update(of=("self",))}


def _retire(job: Job, gone: Ids, at: datetime) -> Retirement | None:
    if not gone:
        return None
    token = Retirement.objects.create(
        job=job,
        model=Job._meta.label_lower,
        record_id=job.pk,
        name=REPLACED,
        also=", ".join(counted(model, len(ids)) for model, ids in gone.items()),
        retired_at=at,
        retired_by=None,
    )
    for model, ids in gone.items():
        model.objects.filter(pk__in=ids).update(
            retired_at=at, retired_by=None, retirement=token, version=models.F("version") + 1
        )
    return token


def _write(model: type[Retirable], written: list[Retirable], present: Rows, at: datetime) -> None:
    """Store records of a kind: new ones, and those that are there and say something else now."""
    changed = [
        one
        for one in written
        if one.pk in present and (present[one.pk].retired_at is not None or differs(one, present[one.pk]))
    ]
    # Two records may change names with each other: each lets go of its own before one takes another's.
    names = {
        name
        for constraint in model._meta.constraints
        if isinstance(constraint, models.UniqueConstraint)
        for name in constraint.fields
    }
    attributes = [field.attname for field in stated_fields(model) if field.name in names]
    renamed = [
        one.pk
        for one in changed
        if any(getattr(one, name) != getattr(present[one.pk], name) for name in attributes)
    ]
    if renamed:
        model.objects.filter(pk__in=renamed).update(retired_at=at)
    for one in changed:
        one.version = present[one.pk].version + 1
    model.with_retired.bulk_create(
        changed,
        update_conflicts=True,
        unique_fields=["id"],
        update_fields=[field.name for field in model._meta.concrete_fields if not field.primary_key],
    )
    model.objects.bulk_create([one for one in written if one.pk not in present])


def _close_tokens(job: Job, records: Records, present: dict[type[Retirable], Rows], at: datetime) -> None:
    """Close what was retired before where the file brought it back: itself, or all that went with it."""
    back = {
        one.pk: present[model][one.pk].retirement_id
        for model, written in records.items()
        for one in written
        if one.pk in present[model] and present[model][one.pk].retired_at is not None
    }
    kinds = [model for model in apps.get_models() if issubclass(model, Retirable)]
    for token in job.retirements.not_undone().filter(pk__in=set(back.values())):
        is_left = any(model.with_retired.filter(retirement=token).exists() for model in kinds)
        if token.record_id in back or not is_left:
            token.restored_at = at
            token.save(update_fields=["restored_at"])
