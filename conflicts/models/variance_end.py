"""The end of a variance before its day, or of a request for one."""

from typing import ClassVar
from uuid import UUID

from django.db import models

from conflicts.models.signed import SignedRecord, name_then, signer
from conflicts.models.variance import Variance
from locates.models.bounds import written


class VarianceEnd(SignedRecord):
    """Somebody ended or refused a variance; from then on it excuses nothing."""

    LEDGER_KIND: ClassVar[str] = "variance_end"
    SIGNER: ClassVar[str] = "ended_by"
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ("variance__bore",)

    variance = models.OneToOneField(Variance, on_delete=models.PROTECT, related_name="end")
    ended_by = signer("ended")
    ended_by_name = name_then("ended")
    ended_at = models.DateTimeField()
    reason = models.TextField()

    class Meta:
        """How ends are ordered and bounded."""

        ordering = ("-ended_at", "id")
        constraints = (*written("variance_end", "ended_by_name", "reason"),)

    def __str__(self) -> str:
        """By whom, and when."""
        return f"ended by {self.ended_by_name} at {self.ended_at:%Y-%m-%d %H:%M} UTC"

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.variance.bore.job_id
