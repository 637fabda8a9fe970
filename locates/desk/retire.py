"""Retire a record and its parts under one token, so that it can be brought back."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import models, transaction
from django.db.models import F
from django.utils import timezone

from locates.changes import job_changed
from locates.desk.dependents import Ids, links_to, read_dependents
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError, StillNamedError
from locates.models import Retirement
from locates.models.retirable import Retirable


def retire(record: Retirable, *, by: AbstractBaseUser, with_loose: bool = False) -> Retirement:
    """Retire a record, its parts and, if asked, the records that name it and could stand without it.

    Those that stay no longer name it; the token remembers that they did. Raises `RetiredMeanwhileError` where
    it is retired already and `StillNamedError` where a record that has to stay cannot be without it.
    """
    job_id = record.home_job_id
    with transaction.atomic():
        hold_job(job_id)
        if not type(record).objects.filter(pk=record.pk).exists():
            raise RetiredMeanwhileError(named(record))
        dependents = read_dependents(record, with_loose=with_loose)
        if dependents.blockers:
            raise StillNamedError(named(record), [str(link) for link in dependents.blockers])
        retirement = Retirement(
            job_id=job_id,
            model=record._meta.label_lower,
            record_id=record.pk,
            name=named(record),
            also=", ".join(dependents.also(record)),
            retired_at=timezone.now(),
            retired_by=by,
        )
        loosen(dependents.parts, retirement)
        retirement.save()
        for model, ids in dependents.parts.items():
            model.objects.filter(pk__in=ids).update(
                retired_at=retirement.retired_at,
                retired_by=by,
                retirement=retirement,
                version=F("version") + 1,
            )
        job_changed(job_id)
    return retirement


def loosen(parts: Ids, retirement: Retirement) -> None:
    """Have every record that stays, a retired one too, name none of those that go."""
    for model, ids in parts.items():
        for other, column in links_to(model):
            if column.remote_field.on_delete is not models.SET_NULL:
                continue
            naming = other.with_retired.filter(**{f"{column.name}__in": ids})
            naming = naming.exclude(pk__in=parts.get(other, ()))
            by_target: dict[object, list[object]] = {}
            for key, target in naming.values_list("pk", column.attname):
                by_target.setdefault(target, []).append(key)
            for target, keys in by_target.items():
                retirement.tie(other, column.name, target, keys)
                other.with_retired.filter(pk__in=keys).update(
                    **{column.name: None, "version": F("version") + 1}
                )
