"""The end of a bore: drilled, watched and closed out."""

from typing import ClassVar

from django.db import models

from conflicts.models.bore import Bore
from conflicts.models.signed import SignedRecord, name_then, signer
from locates.models.bounds import written


class CloseOut(SignedRecord):
    """Signed once for a bore, with what it rested on."""

    LEDGER_KIND: ClassVar[str] = "close_out"
    SIGNER: ClassVar[str] = "closed_by"

    bore = models.OneToOneField(Bore, on_delete=models.PROTECT, related_name="close_out")
    closed_by = signer("closed out")
    closed_by_name = name_then("closed out")
    closed_at = models.DateTimeField()
    remarks = models.TextField(blank=True)
    grounds = models.JSONField(help_text="Each crossing with its watches, inspections and variances then.")

    class Meta:
        """How close-outs are ordered and bounded."""

        ordering = ("-closed_at", "id")
        constraints = (*written("close_out", "closed_by_name"),)

    def __str__(self) -> str:
        """By whom, and when."""
        return f"closed out by {self.closed_by_name} at {self.closed_at:%Y-%m-%d %H:%M} UTC"
