"""Save one record of a job, unless somebody else has changed or retired it meanwhile."""

from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from locates.changes import job_changed
from locates.desk.follow import follow_logged
from locates.errors import ChangedMeanwhileError, RetiredMeanwhileError
from locates.models import Job, Ticket
from locates.models.retirable import Retirable


def save_record(record: Retirable, *, by: AbstractBaseUser, opened_version: int | None = None) -> None:
    """Save a new record, or one that was opened at a version, and say that its job has changed.

    Whoever logs a ticket follows it, as do those who follow the one before it.

    Raises `ChangedMeanwhileError` where it is of another version by now, `RetiredMeanwhileError` where it,
    its job or a record that it names is retired, and ``ValidationError`` where a live record took its name
    at this very moment.
    """
    with transaction.atomic():
        hold_job(record.home_job_id, besides=record)
        if not record._state.adding:
            _hold(record, opened_version)
        _refuse_retired(record)
        record.edited_by = by
        is_new_ticket = record._state.adding and isinstance(record, Ticket)
        _save(record)
        if is_new_ticket:
            follow_logged(record, by=by, at=timezone.now())
        job_changed(record.home_job_id)


def hold_job(job_id: UUID, *, besides: models.Model | None = None) -> None:
    """Lock a live job until the transaction ends, so that its records change one after the other."""
    if isinstance(besides, Job) and besides._state.adding:
        return
    if not Job.objects.select_for_update().filter(pk=job_id).exists():
        raise RetiredMeanwhileError(f"The job {Job.with_retired.get(pk=job_id)}")


def _hold(record: Retirable, opened_version: int | None) -> None:
    present = type(record).with_retired.select_for_update().get(pk=record.pk)
    if present.retired_at is not None:
        raise RetiredMeanwhileError(named(present))
    if present.version != opened_version:
        raise ChangedMeanwhileError(present)


def _refuse_retired(record: Retirable) -> None:
    """Refuse a record that names one which was retired after the form was shown."""
    for column in record._meta.concrete_fields:
        if not isinstance(column, models.ForeignKey) or not issubclass(column.related_model, Retirable):
            continue
        target_id = getattr(record, column.attname)
        if target_id is not None and not column.related_model.objects.filter(pk=target_id).exists():
            raise RetiredMeanwhileError(named(column.related_model.with_retired.get(pk=target_id)))


def _save(record: Retirable) -> None:
    try:
        with transaction.atomic():
            record.save()
    except IntegrityError:
        # Somebody stored the same name since the form was checked: checked again, it is refused in words.
        record.clean()
        record.validate_constraints()
        raise


def named(record: Retirable) -> str:
    """A record with its kind, to begin a sentence."""
    kind = str(record._meta.verbose_name)
    return f"{kind[:1].upper()}{kind[1:]} {record}"
