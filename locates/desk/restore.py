"""Bring back what was retired at once, all of it or nothing."""

from django.apps import apps
from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.db.models import F
from django.utils import timezone

from locates.changes import job_changed
from locates.desk.save_record import named
from locates.errors import RetiredMeanwhileError, TakenMeanwhileError
from locates.models import Job, Retirement
from locates.models.retirable import Retirable


def restore(retirement: Retirement, *, by: AbstractBaseUser) -> Retirement:
    """Make all records of a retirement live again, and tie those that named them; twice is once.

    Raises `RetiredMeanwhileError` where something that they cannot be without is itself retired, and
    `TakenMeanwhileError` where a live record has a name of theirs by now.
    """
    with transaction.atomic():
        job = Job.with_retired.select_for_update().get(pk=retirement.job_id)
        token = Retirement.objects.select_for_update().get(pk=retirement.pk)
        if token.restored_at is not None:
            return token
        models_of_it = [model for model in apps.get_models() if issubclass(model, Retirable)]
        for model in models_of_it:
            _refuse_without_owner(model, token)
        try:
            with transaction.atomic():
                for model in models_of_it:
                    model.with_retired.filter(retirement=token).update(
                        retired_at=None, retired_by=None, retirement=None, version=F("version") + 1
                    )
        except IntegrityError as error:
            raise _taken(models_of_it, token) from error
        for tie in token.loosened:
            model = apps.get_model(tie["model"])
            untied = model.with_retired.filter(pk__in=tie["ids"], **{f"{tie['field']}__isnull": True})
            untied.update(**{f"{tie['field']}_id": tie["target"], "version": F("version") + 1})
        token.restored_at, token.restored_by = timezone.now(), by
        token.save(update_fields=["restored_at", "restored_by"])
        job_changed(job.pk)
    return token


def _refuse_without_owner(model: type[Retirable], token: Retirement) -> None:
    """Refuse to bring back a part of something that is retired itself and does not come back with it."""
    for column in model._meta.concrete_fields:
        if not isinstance(column, models.ForeignKey) or not issubclass(column.related_model, Retirable):
            continue
        owners = column.related_model.with_retired.filter(
            pk__in=model.with_retired.filter(retirement=token).values(column.attname),
            retired_at__isnull=False,
        )
        owner = owners.exclude(retirement=token).first()
        if owner is not None:
            raise RetiredMeanwhileError(named(owner))


def _taken(models_of_it: list[type[Retirable]], token: Retirement) -> TakenMeanwhileError:
    """Which record of a retirement a live one stands in the way of."""
    for model in models_of_it:
        for record in model.with_retired.filter(retirement=token):
            record.retired_at = None
            try:
                record.validate_constraints()
            except ValidationError as error:
                return TakenMeanwhileError(named(record), " ".join(error.messages))
    return TakenMeanwhileError(token.name, "a record of the same name")
