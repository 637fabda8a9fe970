"""The check or the storing of a large file, which a worker does beside the pages."""

from typing import Any, ClassVar, Self
from uuid import UUID

from django.db import models
from django.db.models.functions import Now

from locates.models.queued_work import (
    STATES_TO_WORK_ON,
    QueuedWork,
    QueuedWorkQuerySet,
    WorkState,
    work_bounds,
)
from locates.models.vector_import import VectorImport

LOCK_SPACE = 7715
"""First half of the advisory lock's key, the row's id being the other; any number that nothing else uses."""


class WorkKind(models.TextChoices):
    """What is asked for."""

    CHECK = "check", "check"
    STORE = "store", "store"


class ImportWorkQuerySet(QueuedWorkQuerySet):
    """Sets of works."""

    def of(self, brought_id: UUID) -> "ImportWork | None":
        """The work on a file; None where none was asked for since its columns were confirmed."""
        return self.filter(brought=brought_id).first()

    def forget(self, brought_id: UUID) -> None:
        """What was found of a file no longer holds; a worker that is at it finds nothing to write to."""
        self.filter(brought=brought_id).delete()

    def ask(self, brought_id: UUID, kind: WorkKind, rows_total: int) -> list[int]:
        """Ask for a work unless one waits or runs; gives the id of the row that is to be called out."""
        work, is_new = self.get_or_create(
            brought_id=brought_id, defaults={**_asked(kind), "rows_total": rows_total}
        )
        if not is_new:
            over = self.filter(pk=work.pk).exclude(state__in=STATES_TO_WORK_ON)
            is_new = bool(over.update(**_asked(kind), rows_total=rows_total))
        return [work.pk] if is_new else []


def _asked(kind: WorkKind) -> dict[str, Any]:
    return {
        "kind": kind,
        "state": WorkState.QUEUED,
        "attempts": 0,
        "phase": "",
        "rows_done": 0,
        "rung_at": Now(),
        "finished_at": None,
        "outcome": {},
        "failure": "",
    }


class ImportWork(QueuedWork):
    """One file to be checked or stored. This row is the truth; the broker only says: look here."""

    LOCK_SPACE = LOCK_SPACE
    NOTHING_DONE: ClassVar = {"phase": "", "rows_done": 0}

    brought = models.OneToOneField(VectorImport, on_delete=models.CASCADE, related_name="work")
    kind = models.CharField(max_length=10, choices=WorkKind)
    phase = models.CharField(max_length=10, blank=True)
    rows_done = models.PositiveIntegerField("rows done in this phase")
    rows_total = models.PositiveIntegerField("rows of the file")
    outcome = models.JSONField(default=dict)

    objects = ImportWorkQuerySet.as_manager()

    class Meta:
        """How works are ordered and bounded."""

        ordering = ("id",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(kind__in=WorkKind.values), name="import_work_kind_known"
            ),
            *work_bounds("import_work"),
        )

    def __str__(self) -> str:
        """Of which file, and where it stands."""
        return f"{self.brought}: {self.kind}, {self.state}"

    def finish(self, outcome: dict[str, Any]) -> None:
        """Keep what came of it."""
        self.end(outcome=outcome)

    def same_attempt(self) -> models.QuerySet[Self]:
        """Only this row, unless another work was asked for, or another worker's attempt has come since."""
        return super().same_attempt().filter(kind=self.kind)
