"""What was seen on a bore's site on the day of drilling."""

from typing import ClassVar

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q
from django.urls import reverse

from conflicts.models.bore import Bore
from conflicts.models.signed import SignedQuerySet, SignedRecord, name_then, signer
from locates.models.bounds import written


class DailyWalkQuerySet(SignedQuerySet):
    """Sets of walks."""

    def newest_first(self) -> "DailyWalkQuerySet":
        """The last walk first; of two at the same moment the one that was stored later."""
        return self.order_by("-walked_at", "-entered_at", "-id")


class DailyWalk(SignedRecord):
    """One walk along a bore before drilling: signed, never changed; the last of a day counts.

    It counts for the local day of ``walked_at`` in the zone in which it was signed and for no other; where
    the job's zone is another by now, the day has to be the present one in both.
    """

    LEDGER_KIND: ClassVar[str] = "walk"
    SIGNER: ClassVar[str] = "walked_by"
    LATER_COLUMNS: ClassVar[tuple[str, ...]] = ("time_zone",)

    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="walks")
    walked_at = models.DateTimeField()
    time_zone = models.CharField(
        max_length=60,
        blank=True,
        default="",
        help_text="IANA name of the job's zone when it was signed; nothing where that was not kept yet.",
    )
    walked_by = signer("walked")
    walked_by_name = name_then("walked")
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

    def get_absolute_url(self) -> str:
        """The page of the bore's walks."""
        return reverse("conflicts:walk", args=[self.bore_id])
