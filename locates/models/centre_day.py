"""Days that a one-call centre itself says count, or do not."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID, uuid4

from django.conf import settings
from django.db import models

from locates.models.bounds import written
from locates.models.organisation import Organisation
from locates.models.retirable import LIVE
from locates.one_call.calendar_terms import CentreDay as OwnDay


class CentreDayQuerySet(models.QuerySet["CentreDay"]):
    """Sets of a centre's days."""

    def live(self) -> "CentreDayQuerySet":
        """Those that nobody has retired."""
        return self.filter(LIVE)

    def known_to(self, organisation_id: Any) -> "CentreDayQuerySet":
        """Those of all companies and the company's own; without a company those of all."""
        return self.filter(models.Q(organisation=None) | models.Q(organisation=organisation_id))


class CentreDay(models.Model):
    """One day as the centre of a jurisdiction counts it, whatever the lists of holidays say.

    It is kept by one company, whose jobs alone count by it, or is of no company, and then all do. It is never
    changed: a wrong one is retired, and another added.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    organisation = models.ForeignKey(
        Organisation,
        on_delete=models.PROTECT,
        null=True,
        editable=False,
        related_name="centre_days",
        help_text="The company that keeps it; none where all companies count by it.",
    )
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
                fields=("organisation", "code", "day"),
                condition=LIVE,
                name="centre_day_once",
                nulls_distinct=False,
                violation_error_message="day: accepted is a day of which nothing is said yet.",
            ),
            *written("centre_day", "code", "words"),
        )

    def __str__(self) -> str:
        """Code, day and how it counts."""
        return f"{self.code} {self.day}: {'a working day' if self.is_working else 'no working day'}"


Asked = tuple[str, UUID | None]
"""Code of a jurisdiction, and the company whose own days count before those of all."""


def own_days_of(asked: Iterable[Asked]) -> dict[Asked, tuple[OwnDay, ...]]:
    """The days that centres count their own way, as companies know them; one query for all of them."""
    held = set(asked)
    found: dict[Asked, dict[Any, OwnDay]] = {one: {} for one in held}
    companies = {company for _, company in held if company is not None}
    kept = CentreDay.objects.live().filter(code__in={code for code, _ in held})
    kept = kept.filter(models.Q(organisation=None) | models.Q(organisation__in=companies))
    for day in kept.order_by(models.F("organisation").asc(nulls_first=True), "day"):
        told = OwnDay(day=day.day, is_working=day.is_working, name=day.words)
        for code, company in held:
            if code == day.code and day.organisation_id in (None, company):
                found[code, company][day.day] = told
    return {one: tuple(sorted(days.values(), key=lambda told: told.day)) for one, days in found.items()}


def own_days(code: str, organisation_id: UUID | None) -> tuple[OwnDay, ...]:
    """The days of one jurisdiction as one company knows them, in order."""
    return own_days_of([(code, organisation_id)])[code, organisation_id]
