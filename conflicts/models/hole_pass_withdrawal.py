"""A pass of the hole that no longer counts: it was entered wrongly."""

from typing import ClassVar
from uuid import UUID

from django.db import models

from conflicts.models.hole_pass import HolePass
from conflicts.models.signed import SignedRecord, name_then, signer
from locates.models.bounds import written


class HolePassWithdrawal(SignedRecord):
    """Takes one pass out of the log; the record of it stays."""

    LEDGER_KIND: ClassVar[str] = "hole_pass_withdrawal"
    SIGNER: ClassVar[str] = "withdrawn_by"
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ("hole_pass__bore",)

    hole_pass = models.OneToOneField(
        HolePass, on_delete=models.PROTECT, related_name="withdrawal", verbose_name="pass"
    )
    reason = models.TextField()
    withdrawn_by = signer("withdrawn")
    withdrawn_by_name = name_then("withdrawn")
    withdrawn_at = models.DateTimeField()

    class Meta:
        """How withdrawals are ordered and bounded."""

        ordering = ("withdrawn_at", "entered_at", "id")
        constraints = (*written("hole_pass_withdrawal", "reason", "withdrawn_by_name"),)

    def __str__(self) -> str:
        """Of which pass."""
        return f"withdrawal of a {self.hole_pass}"

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.hole_pass.bore.job_id
