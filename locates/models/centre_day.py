"""Days that a one-call centre itself says count, or do not."""

from uuid import uuid4

from django.conf import settings
from django.db import models

from locates.models.bounds import written
from locates.models.retirable import LIVE


class CentreDayQuerySet(models.QuerySet["CentreDay"]):
    """Sets of a centre's days."""

    def live(self) -> "CentreDayQuerySet":
        """Those that nobody has retired."""
        return self.filter(LIVE)


class CentreDay(models.Model):
    """One day as the centre of a jurisdiction counts it, whatever the lists of holidays say.

    It is never changed: a wrong one is retired, and another added.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    code = models.CharField("jurisdiction", max_length=20)
    day = models.DateField(help_text="In the zone in which the law counts.")
    is_working = models.BooleanField("counts as a working day")
    words = models.CharField(
        "why, and who says so", max_length=200, help_text="What the day is, and where that was heard or read."
    )
    made_at = models.DateTimeField("added at", auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        editable=False,
        related_name="+",
        verbose_name="added by",
    )
    retired_at = models.DateTimeField(null=True, editable=False)
    retired_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )

    objects = CentreDayQuerySet.as_manager()

    class Meta:
        """How days are ordered and bounded."""

        ordering = ("code", "day", "made_at")
        constraints = (
            models.UniqueConstraint(
                fields=("code", "day"),
                condition=LIVE,
                name="centre_day_once",
                violation_error_message="day: accepted is a day of which nothing is said yet.",
            ),
            *written("centre_day", "code", "words"),
        )

    def __str__(self) -> str:
        """Code, day and how it counts."""
        return f"{self.code} {self.day}: {'a working day' if self.is_working else 'no working day'}"
