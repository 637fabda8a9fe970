"""A pass through the hole after the pilot: a reamer, or the conduits that were pulled in."""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from conflicts.models.bore import Bore
from conflicts.models.signed import SignedRecord, name_then, signer
from locates.models.bounds import in_order, not_negative, one_of, positive, written


class HolePassKind(models.TextChoices):
    """What went through the hole."""

    REAMING = "reaming", "reaming"
    PULLBACK = "pullback", "pullback"


class PassDirection(models.TextChoices):
    """Which way it went."""

    TO_RIG = "to_rig", "towards the rig"
    FROM_RIG = "from_rig", "away from the rig"


class HolePass(SignedRecord):
    """One pass of a reamer, or the pullback: stored once and never changed.

    How wide the hole is at a station is worked out from them, never stored here. What was entered wrongly is
    withdrawn (`HolePassWithdrawal`) and logged anew.
    """

    LEDGER_KIND: ClassVar[str] = "hole_pass"
    SIGNER: ClassVar[str] = "logged_by"
    LATER_COLUMNS: ClassVar[tuple[str, ...]] = ("ended_at",)

    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="hole_passes")
    kind = models.CharField(max_length=10, choices=HolePassKind)
    diameter_m = models.FloatField("reamer, or circle round the conduits, diameter (m)")
    conduits = models.JSONField(
        "conduits", default=list, blank=True, help_text="Of a pullback: how many, and their outside size (m)."
    )
    is_measured = models.BooleanField(
        "circle measured", default=False, help_text="Whether the circle round the conduits was measured."
    )
    direction = models.CharField(max_length=10, choices=PassDirection, blank=True)
    from_station_m = models.FloatField(
        "from station (m)", null=True, blank=True, help_text="As it was stated along the alignment of then."
    )
    to_station_m = models.FloatField("to station (m)", null=True, blank=True)
    made_at = models.DateTimeField("made at")
    ended_at = models.DateTimeField(
        "through at", null=True, blank=True, help_text="None where that was not asked yet."
    )
    confirmed = models.JSONField(
        "confirmed oddities", default=list, blank=True, help_text="What was asked about this pass, and kept."
    )
    remarks = models.TextField(blank=True)
    logged_by = signer("logged")
    logged_by_name = name_then("logged")
    logged_at = models.DateTimeField()

    class Meta:
        """How passes are ordered and bounded."""

        ordering = ("bore_id", "logged_at", "entered_at", "id")
        constraints = (
            one_of("hole_pass", "kind", HolePassKind),
            one_of("hole_pass", "direction", PassDirection, blank=True),
            *positive("hole_pass", "diameter_m"),
            *not_negative("hole_pass", "from_station_m", "to_station_m"),
            *written("hole_pass", "logged_by_name"),
            in_order("hole_pass", "made_at", "logged_at"),
            in_order("hole_pass", "made_at", "ended_at"),
            in_order("hole_pass", "ended_at", "logged_at"),
            models.CheckConstraint(
                condition=Q(kind=HolePassKind.REAMING, conduits=[], is_measured=False)
                | (Q(kind=HolePassKind.PULLBACK) & ~Q(conduits=[])),
                name="hole_pass_pullback_has_conduits",
                violation_error_message="conduits: accepted are some for a pullback, none for a reamer.",
            ),
            models.CheckConstraint(
                condition=Q(from_station_m__isnull=True, to_station_m__isnull=True)
                | Q(
                    kind=HolePassKind.REAMING,
                    from_station_m__isnull=False,
                    to_station_m__isnull=False,
                    from_station_m__lt=F("to_station_m"),
                ),
                name="hole_pass_stations_in_order",
                violation_error_message=(
                    "from_station_m: accepted for a reamer is a station before to_station_m, or neither; "
                    "the conduits go through all of the bore."
                ),
            ),
        )

    def __str__(self) -> str:
        """What went through."""
        return "pullback" if self.kind == HolePassKind.PULLBACK else "reaming pass"

    def get_absolute_url(self) -> str:
        """The page of the bore's passes."""
        return reverse("conflicts:passes", args=[self.bore_id])
