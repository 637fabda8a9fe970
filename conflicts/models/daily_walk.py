"""What was seen on a bore's site on the day of drilling."""

from collections.abc import Collection
from typing import Any, ClassVar
from uuid import UUID, uuid4

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from conflicts.models.bore import Bore
from locates.canonical import utc_text
from locates.models.bounds import written


class DailyWalkQuerySet(models.QuerySet["DailyWalk"]):
    """Sets of walks."""

    def newest_first(self) -> "DailyWalkQuerySet":
        """The last walk first; of two at the same moment the one that was stored later."""
        return self.order_by("-walked_at", "-entered_at", "-id")


class DailyWalk(models.Model):
    """One walk along a bore before drilling: signed, never changed; the last of a day counts.

    It counts for the local day of ``walked_at`` in the job's time zone and for no other.
    """

    LEDGER_KIND: ClassVar[str] = "walk"

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="walks")
    walked_at = models.DateTimeField()
    walked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    walked_by_name = models.CharField(max_length=200, help_text="Their name as it was then.")
    marks_intact = models.BooleanField("marks seen intact")
    device_checked = models.BooleanField("locating device checked")
    device = models.CharField("locating device", max_length=200, blank=True)
    holes_open = models.BooleanField("test holes open")
    remarks = models.TextField(blank=True)
    photo_sha256s = ArrayField(
        models.CharField(max_length=64),
        default=list,
        blank=True,
        verbose_name="SHA-256 of its photos",
        help_text="Of the photos that were signed with it, in order of their digests.",
    )
    entered_at = models.DateTimeField(auto_now_add=True)

    objects = DailyWalkQuerySet.as_manager()

    class Meta:
        """How walks are ordered, found and bounded."""

        ordering = ("bore_id", "walked_at")
        indexes = (models.Index(fields=("bore", "-walked_at"), name="daily_walk_latest"),)
        constraints = (
            *written("daily_walk", "walked_by_name"),
            models.CheckConstraint(
                condition=Q(device_checked=False) | Q(device__regex=r"\S"),
                name="daily_walk_checked_device_named",
                violation_error_message="device: accepted is the name of the device that was checked.",
            ),
        )

    def __str__(self) -> str:
        """By whom and when."""
        return f"walk of {self.walked_at:%Y-%m-%d %H:%M} UTC by {self.walked_by_name}"

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.bore.job_id

    def ledger_content(self) -> dict[str, Any]:
        """All that the signature stands for."""
        return {
            "id": str(self.pk),
            "bore_id": str(self.bore_id),
            "walked_at": utc_text(self.walked_at),
            "walked_by_id": self.walked_by_id,
            "walked_by_name": self.walked_by_name,
            "marks_intact": self.marks_intact,
            "device_checked": self.device_checked,
            "device": self.device,
            "holes_open": self.holes_open,
            "remarks": self.remarks,
            "photo_sha256s": list(self.photo_sha256s),
            "entered_at": utc_text(self.entered_at),
        }


def walks_of(ids: Collection[UUID]) -> DailyWalkQuerySet:
    """Walks of given ids with the bore that says their job."""
    return DailyWalk.objects.filter(pk__in=ids).select_related("bore")
