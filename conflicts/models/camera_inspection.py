"""A look into a sewer by camera, before or after the bore."""

from typing import ClassVar

from django.db import models

from conflicts.models.bore import Bore
from conflicts.models.signed import SignedRecord, name_then, signer
from locates.models import Mark
from locates.models.bounds import one_of, written


class CameraStage(models.TextChoices):
    """When the camera looked."""

    BEFORE = "before", "before the bore"
    AFTER = "after", "after the pullback"


class CameraResult(models.TextChoices):
    """What it saw."""

    NO_DAMAGE = "no_damage", "no damage"
    DAMAGE = "damage", "damage, or a conduit in the line"
    NOT_CONCLUSIVE = "not_conclusive", "not conclusive"


class CameraInspection(SignedRecord):
    """One inspection of one line; the last of a stage counts."""

    LEDGER_KIND: ClassVar[str] = "camera"
    SIGNER: ClassVar[str] = "recorded_by"

    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="camera_inspections")
    mark = models.ForeignKey(Mark, on_delete=models.PROTECT, related_name="camera_inspections")
    stage = models.CharField(max_length=10, choices=CameraStage)
    inspected_at = models.DateTimeField()
    inspected_by = models.CharField(max_length=200, help_text="Who ran the camera.")
    result = models.CharField(max_length=20, choices=CameraResult)
    remarks = models.TextField(blank=True, help_text="What was seen, and where the pictures are kept.")
    recorded_by = signer("recorded")
    recorded_by_name = name_then("recorded")
    photo_sha256s = models.JSONField("SHA-256 of its photos", default=list, blank=True)

    class Meta:
        """How inspections are ordered and bounded."""

        ordering = ("bore_id", "inspected_at", "entered_at", "id")
        constraints = (
            one_of("camera", "stage", CameraStage),
            one_of("camera", "result", CameraResult),
            *written("camera", "inspected_by", "recorded_by_name"),
        )

    def __str__(self) -> str:
        """Which line, and when."""
        return f"camera inspection of {self.mark} ({self.get_stage_display()})"
