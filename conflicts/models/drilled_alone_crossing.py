"""The crossings that the drilled hole of a bore alone has, as computed."""

from uuid import uuid4

from django.db import models

from conflicts.models.assessment import Assessment
from conflicts.models.bore import Bore
from conflicts.models.crossing import CrossingKind, Verdict
from locates.models import FacilityType, Mark
from locates.models.bounds import finite, in_order, not_negative, one_of, written


class DrilledAloneCrossing(models.Model):
    """A line that the rods of a bore, or an abandoned leg, met and that its plan does not meet there.

    Derived as `Crossing` is, and current only while the digest of what it rests on is the same; by stations
    of the plan. Mark, operator and who logged the rod that came past it are copies.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    assessment = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="drilled_alone")
    bore = models.ForeignKey(Bore, on_delete=models.CASCADE, related_name="drilled_alone")
    sequence = models.PositiveIntegerField(help_text="Place among those of the bore, from 0.")
    mark = models.ForeignKey(
        Mark, on_delete=models.SET_NULL, null=True, blank=True, related_name="drilled_alone"
    )
    mark_ref = models.CharField("mark", max_length=200)
    operator = models.CharField(max_length=200)
    facility_type = models.CharField(max_length=20, choices=FacilityType)
    kind = models.CharField(max_length=10, choices=CrossingKind)
    leg = models.CharField(
        "abandoned leg", max_length=40, blank=True, help_text="Empty where rods in the ground meet it."
    )
    is_gone = models.BooleanField(help_text="Whether the records do not know it there any more.")
    from_m = models.FloatField("from station (m)")
    to_m = models.FloatField("to station (m)")
    station_m = models.FloatField("station (m)")
    worst_case_m = models.FloatField("worst case (m)", null=True, blank=True)
    required_m = models.FloatField("required (m)")
    verdict = models.CharField(max_length=10, choices=Verdict)
    drilled_at = models.DateTimeField(help_text="When the rod was logged that came past it.")
    drilled_by_name = models.CharField("drilled by", max_length=200)

    class Meta:
        """How they are ordered and bounded."""

        ordering = ("bore_id", "sequence")
        constraints = (
            models.UniqueConstraint(
                fields=("assessment", "sequence"),
                name="drilled_alone_sequence_once",
                violation_error_message="sequence: accepted is a place that no other crossing has.",
            ),
            *written("drilled_alone", "mark_ref", "operator", "drilled_by_name"),
            one_of("drilled_alone", "facility_type", FacilityType),
            one_of("drilled_alone", "kind", CrossingKind),
            one_of("drilled_alone", "verdict", Verdict),
            *not_negative("drilled_alone", "from_m", "to_m", "station_m", "required_m"),
            *finite("drilled_alone", "worst_case_m"),
            in_order("drilled_alone", "from_m", "to_m"),
            models.CheckConstraint(
                condition=~models.Q(verdict=Verdict.CLEAR) | models.Q(worst_case_m__isnull=False),
                name="drilled_alone_clear_is_known",
                violation_error_message="verdict: clear is accepted of a line with a known worst case.",
            ),
        )

    def __str__(self) -> str:
        """Line, kind and verdict."""
        return f"{self.mark_ref} ({self.get_kind_display()}), as drilled: {self.get_verdict_display()}"
