"""The locating device held against a depth that was measured in a test hole."""

from typing import ClassVar

from django.db import models

from conflicts.models.bore import Bore
from conflicts.models.signed import SignedRecord, name_then, signer
from locates.models import TestHole
from locates.models.bounds import not_negative, positive, written


class LocatorCheck(SignedRecord):
    """What the device read, and what the tape said, at one test hole; it counts for its local day.

    It never corrects a reading: what it was off by widens the error of that day's readings.
    """

    LEDGER_KIND: ClassVar[str] = "locator_check"
    SIGNER: ClassVar[str] = "checked_by"

    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="locator_checks")
    hole = models.ForeignKey(
        TestHole, on_delete=models.PROTECT, related_name="locator_checks", verbose_name="test hole"
    )
    device = models.CharField("locating device", max_length=200)
    read_depth_m = models.FloatField("depth that the device read (m)")
    measured_depth_m = models.FloatField("depth that was measured (m)")
    remarks = models.TextField(blank=True)
    checked_by = signer("checked")
    checked_by_name = name_then("checked")
    checked_at = models.DateTimeField()

    class Meta:
        """How checks are ordered and bounded."""

        ordering = ("bore_id", "checked_at", "entered_at", "id")
        constraints = (
            *not_negative("locator_check", "read_depth_m"),
            *positive("locator_check", "measured_depth_m"),
            *written("locator_check", "device", "checked_by_name"),
        )

    def __str__(self) -> str:
        """At which hole."""
        return f"check of {self.device} at {self.hole}"

    @property
    def off_by_m(self) -> float:
        """What the device read too deep; less than 0 is too shallow."""
        return self.read_depth_m - self.measured_depth_m
