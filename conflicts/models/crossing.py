"""The crossings of a bore, as computed."""

from uuid import uuid4

from django.db import models

from conflicts.models.assessment import Assessment, digest_written
from conflicts.models.bore import Bore
from locates.models import FacilityType, Mark
from locates.models.bounds import finite, in_order, not_negative, one_of, written


class CrossingKind(models.TextChoices):
    """How a bore lies to a line inside its tolerance zone."""

    CROSSING = "crossing", "crossing"
    ALONGSIDE = "alongside", "alongside"


class Passes(models.TextChoices):
    """On which side of the line the bore passes."""

    OVER = "over", "over"
    UNDER = "under", "under"


class Verdict(models.TextChoices):
    """What a crossing comes to."""

    OVERLAP = "overlap", "overlap"
    UNEXPOSED = "unexposed", "unexposed"
    STALE = "stale", "stale"
    SHORT = "short", "short"
    CLEAR = "clear", "clear"


class CrossingQuerySet(models.QuerySet["Crossing"]):
    """Sets of crossings."""

    def not_clear(self) -> "CrossingQuerySet":
        """Crossings that hold the release."""
        return self.exclude(verdict=Verdict.CLEAR)


class Crossing(models.Model):
    """A stretch of a bore inside a line's tolerance zone; a figure that cannot be known is null, never zero.

    Operator and mark reference are copies: a stored figure stays readable when its mark is gone.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    assessment = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="crossings")
    bore = models.ForeignKey(Bore, on_delete=models.CASCADE, related_name="crossings")
    inputs_digest = models.CharField("digest of the inputs", max_length=64)
    sequence = models.PositiveIntegerField(help_text="Place along the bore, from 0.")
    mark = models.ForeignKey(Mark, on_delete=models.SET_NULL, null=True, blank=True, related_name="crossings")
    mark_ref = models.CharField("mark", max_length=200)
    operator = models.CharField(max_length=200)
    facility_type = models.CharField(max_length=20, choices=FacilityType)
    kind = models.CharField(max_length=10, choices=CrossingKind)
    from_m = models.FloatField("from station (m)")
    to_m = models.FloatField("to station (m)")
    station_m = models.FloatField("station (m)")
    angle_deg = models.FloatField("angle (degrees)", null=True, blank=True)
    exposed = models.BooleanField()
    passes = models.CharField(max_length=10, choices=Passes, blank=True)
    horizontal_m = models.FloatField("horizontal (m)", null=True, blank=True)
    vertical_m = models.FloatField("vertical (m)", null=True, blank=True)
    separation_m = models.FloatField("separation (m)", null=True, blank=True)
    worst_case_m = models.FloatField("worst case (m)", null=True, blank=True)
    likely_m = models.FloatField("likely (m)", null=True, blank=True)
    required_m = models.FloatField("required (m)", null=True, blank=True)
    verdict = models.CharField(max_length=10, choices=Verdict)
    sentence = models.TextField()
    longitude_deg = models.FloatField("longitude of the crossing (degrees)", null=True, blank=True)
    latitude_deg = models.FloatField("latitude of the crossing (degrees)", null=True, blank=True)

    objects = CrossingQuerySet.as_manager()

    class Meta:
        """How crossings are ordered and bounded."""

        ordering = ("bore_id", "sequence")
        constraints = (
            models.UniqueConstraint(
                fields=("assessment", "sequence"),
                name="crossing_sequence_once",
                violation_error_message="sequence: accepted is a place that no other crossing has.",
            ),
            digest_written("crossing"),
            *written("crossing", "mark_ref", "operator", "sentence"),
            one_of("crossing", "facility_type", FacilityType),
            one_of("crossing", "kind", CrossingKind),
            one_of("crossing", "passes", Passes, blank=True),
            one_of("crossing", "verdict", Verdict),
            *not_negative("crossing", "from_m", "to_m", "station_m", "horizontal_m", "required_m"),
            *finite(
                "crossing",
                "angle_deg",
                "vertical_m",
                "separation_m",
                "worst_case_m",
                "likely_m",
                "longitude_deg",
                "latitude_deg",
            ),
            in_order("crossing", "from_m", "to_m"),
            models.CheckConstraint(
                condition=~models.Q(verdict=Verdict.CLEAR)
                | models.Q(exposed=True, worst_case_m__isnull=False, required_m__isnull=False),
                name="crossing_clear_is_known",
                violation_error_message="verdict: clear is accepted of an exposed line with known figures.",
            ),
        )

    def __str__(self) -> str:
        """Line, kind and verdict."""
        return f"{self.mark_ref} ({self.get_kind_display()}): {self.get_verdict_display()}"
