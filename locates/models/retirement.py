"""What was retired at once: the token under which it can be brought back."""

from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db import models


class RetirementQuerySet(models.QuerySet["Retirement"]):
    """Sets of retirements."""

    def not_undone(self) -> "RetirementQuerySet":
        """Those whose records are still retired, the last first."""
        return self.filter(restored_at__isnull=True).order_by("-retired_at")


class Retirement(models.Model):
    """One act of retiring: a record, what went with it, and what was left without it.

    ``loosened`` says which records named the retired one and stayed: each entry holds their model, the field,
    the id that stood there and their own ids, so that undoing can tie them again.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey("locates.Job", on_delete=models.CASCADE, related_name="retirements")
    model = models.CharField(max_length=100, help_text="Such as locates.mark.")
    record_id = models.UUIDField()
    name = models.TextField(help_text="What the record called itself.")
    also = models.TextField(blank=True, help_text="What was retired with it, counted.")
    loosened = models.JSONField(default=list, blank=True)
    retired_at = models.DateTimeField()
    retired_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    restored_at = models.DateTimeField(null=True, blank=True)
    restored_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = RetirementQuerySet.as_manager()

    class Meta:
        """How retirements are ordered."""

        ordering = ("-retired_at",)

    def __str__(self) -> str:
        """What was retired."""
        return self.name

    @property
    def change_permission(self) -> str:
        """Permission that retiring this kind of record and bringing it back ask for."""
        app_label, _, model = self.model.partition(".")
        return f"{app_label}.change_{model}"

    def tie(self, model: type[models.Model], field: str, target: Any, ids: list[Any]) -> None:
        """Note that records named the retired one in a field, and no longer do."""
        self.loosened.append(
            {
                "model": model._meta.label_lower,
                "field": field,
                "target": str(target),
                "ids": [str(i) for i in ids],
            }
        )
