"""The safety manager's signature under a variance."""

from typing import ClassVar
from uuid import UUID

from django.db import models

from conflicts.models.signed import SignedRecord, name_then, signer
from conflicts.models.variance import Variance
from locates.models.bounds import in_order, written


class VarianceSignature(SignedRecord):
    """From its moment on, and no longer than its end, the variance is in force. Never signed by who asked."""

    LEDGER_KIND: ClassVar[str] = "variance"
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ("variance__bore",)

    variance = models.OneToOneField(Variance, on_delete=models.PROTECT, related_name="signature")
    signed_by = signer("signed")
    signed_by_name = name_then("signed")
    signed_at = models.DateTimeField()
    valid_from = models.DateTimeField()
    valid_until = models.DateTimeField()
    remarks = models.TextField(blank=True)

    class Meta:
        """How signatures are ordered and bounded."""

        ordering = ("-signed_at", "id")
        constraints = (
            *written("variance_signature", "signed_by_name"),
            in_order("variance_signature", "valid_from", "valid_until", may_equal=False),
            in_order("variance_signature", "signed_at", "valid_from"),
        )

    def __str__(self) -> str:
        """By whom, and until when."""
        return f"signed by {self.signed_by_name}, until {self.valid_until:%Y-%m-%d %H:%M} UTC"

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.variance.bore.job_id
