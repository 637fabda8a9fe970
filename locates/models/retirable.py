"""Records that people retire instead of deleting them, and that know when somebody else has changed them."""

from collections.abc import Collection, Iterable
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import models
from django.db.models import F, Q, UniqueConstraint

from locates.models.retirement import Retirement

LIVE = Q(retired_at__isnull=True)
"""What a record is that nobody has retired."""


class LiveManager(models.Manager):
    """Hands out live records only; `with_retired` hands out all."""

    def get_queryset(self) -> models.QuerySet:
        """The records that nobody has retired."""
        return super().get_queryset().filter(LIVE)


class Retirable(models.Model):
    """A record with its version, its last editor, and its retirement where somebody retired it.

    ``version`` grows by one with every save, whoever saves: a form that was opened on an older one is told.
    """

    version = models.PositiveIntegerField(default=1, editable=False)
    edited_at = models.DateTimeField("last edited at", auto_now=True, null=True)
    edited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        editable=False,
        db_index=False,
        related_name="+",
        verbose_name="last edited by",
    )
    retired_at = models.DateTimeField(null=True, blank=True, editable=False)
    retired_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        editable=False,
        db_index=False,
        related_name="+",
    )
    retirement = models.ForeignKey(
        Retirement, on_delete=models.SET_NULL, null=True, blank=True, editable=False, related_name="+"
    )

    objects = LiveManager()
    with_retired = models.Manager()  # noqa: DJ012 - a manager too, and not the default one

    class Meta:
        """No table of its own."""

        abstract = True

    def save(self, *args: Any, update_fields: Iterable[str] | None = None, **kwargs: Any) -> None:
        """Save as the next version, counted by the database so that no two savers give the same."""
        is_there = not self._state.adding
        if is_there:
            self.version = F("version") + 1
            if update_fields is not None:
                update_fields = {*update_fields, "version", "edited_at"}
        super().save(*args, update_fields=update_fields, **kwargs)
        if is_there:
            self.refresh_from_db(fields=["version"])

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.job_id

    def validate_constraints(self, exclude: Collection[str] | None = None) -> None:
        """Hold what must be unique among live records, though no form has a field for retiring."""
        super().validate_constraints(exclude=set(exclude or ()) - {"retired_at"})


def once_among_live(*fields: str, name: str, accepted: str, condition: Q | None = None) -> UniqueConstraint:
    """Fields that no two live records have alike; retired ones stand aside.

    Parameters
    ----------
    *fields : str
        Their names.
    name : str
        Of the constraint.
    accepted : str
        What a person is told.
    condition : Q, optional
        To which live records it applies.
    """
    return UniqueConstraint(
        fields=fields,
        condition=LIVE if condition is None else condition & LIVE,
        name=name,
        violation_error_message=accepted,
    )
