"""Seeing the head, and later the reamer and the conduit, pass a line in its open test hole."""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q

from conflicts.models.bore import Bore
from conflicts.models.crossing import CrossingKind
from conflicts.models.signed import SignedQuerySet, SignedRecord, name_then, signer
from locates.models import Mark
from locates.models.bounds import finite, not_negative, one_of, written


class PassMade(models.TextChoices):
    """What passed the line."""

    PILOT = "pilot", "pilot"
    REAMING = "reaming", "reaming"
    PULLBACK = "pullback", "pullback"


class CrossingWatchQuerySet(SignedQuerySet):
    """Sets of watches."""

    def that_stopped(self) -> "CrossingWatchQuerySet":
        """Those that set off a stop rule, settled since or not."""
        return self.filter(Q(gap_m__lt=F("required_m")) | Q(head_depth_m__gt=F("hole_bottom_m")))


class CrossingWatch(SignedRecord):
    """One look at one crossing in one pass; the last of a pass counts.

    The crossing is told as it was then.
    """

    LEDGER_KIND: ClassVar[str] = "watch"
    SIGNER: ClassVar[str] = "watched_by"
    LATER_COLUMNS: ClassVar[tuple[str, ...]] = ("confirmed",)

    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="watches")
    mark = models.ForeignKey(Mark, on_delete=models.PROTECT, related_name="watches")
    kind = models.CharField(max_length=10, choices=CrossingKind)
    station_m = models.FloatField("station (m)")
    pass_made = models.CharField("pass", max_length=10, choices=PassMade)
    seen = models.BooleanField("seen to pass")
    gap_m = models.FloatField("gap measured (m)", null=True, blank=True)
    head_depth_m = models.FloatField("depth read (m)", null=True, blank=True)
    required_m = models.FloatField("required (m)", help_text="What was asked of this crossing then.")
    hole_bottom_m = models.FloatField(
        "bottom of the watch hole (m)", null=True, blank=True, help_text="As recorded then; none is unknown."
    )
    watched_by = signer("watched")
    watched_by_name = name_then("watched")
    watched_at = models.DateTimeField()
    remarks = models.TextField(blank=True)
    confirmed = models.JSONField(
        "confirmed oddities",
        null=True,
        blank=True,
        help_text="What was asked about its figures, and kept; none where nothing was.",
    )
    photo_sha256s = models.JSONField("SHA-256 of its photos", default=list, blank=True)

    objects = CrossingWatchQuerySet.as_manager()

    class Meta:
        """How watches are ordered, found and bounded."""

        ordering = ("bore_id", "watched_at", "entered_at", "id")
        indexes = (models.Index(fields=("bore", "mark"), name="watch_of_crossing"),)
        constraints = (
            one_of("watch", "kind", CrossingKind),
            one_of("watch", "pass_made", PassMade),
            *not_negative("watch", "station_m", "required_m", "head_depth_m", "hole_bottom_m"),
            *finite("watch", "gap_m"),
            *written("watch", "watched_by_name"),
            models.CheckConstraint(
                condition=models.Q(seen=True, gap_m__isnull=False) | models.Q(seen=False, gap_m__isnull=True),
                name="watch_seen_is_measured",
                violation_error_message=(
                    "gap_m: accepted is a gap where it was seen to pass, and none where not."
                ),
            ),
        )

    def __str__(self) -> str:
        """Which line, in which pass."""
        return f"watch of {self.mark} ({self.get_pass_made_display()})"
