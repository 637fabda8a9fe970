"""Rods that are no longer in the log's path: an entry taken back, or rods pulled out of the ground."""

from typing import ClassVar
from uuid import UUID

from django.db import models
from django.db.models import Q

from conflicts.models.drilled_rod import DrilledRod
from conflicts.models.signed import SignedRecord, name_then, signer
from locates.models.bounds import one_of, written


class WithdrawalKind(models.TextChoices):
    """Why rods no longer count."""

    UNDO = "undo", "entered wrongly"
    PULL_BACK = "pull_back", "pulled back"


class RodWithdrawal(SignedRecord):
    """Takes a rod, and with it every rod joined to it, out of the path; the records of them all stay.

    A mistaken entry was never in the ground. Rods that were pulled back were: they are an abandoned leg.
    """

    LEDGER_KIND: ClassVar[str] = "rod_withdrawal"
    SIGNER: ClassVar[str] = "withdrawn_by"
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ("rod__bore",)

    rod = models.OneToOneField(
        DrilledRod, on_delete=models.PROTECT, related_name="withdrawal", verbose_name="first rod withdrawn"
    )
    kind = models.CharField(max_length=10, choices=WithdrawalKind)
    reason = models.TextField(blank=True)
    withdrawn_by = signer("withdrawn")
    withdrawn_by_name = name_then("withdrawn")
    withdrawn_at = models.DateTimeField()

    class Meta:
        """How withdrawals are ordered and bounded."""

        ordering = ("withdrawn_at", "entered_at", "id")
        constraints = (
            one_of("rod_withdrawal", "kind", WithdrawalKind),
            *written("rod_withdrawal", "withdrawn_by_name"),
            models.CheckConstraint(
                condition=Q(kind=WithdrawalKind.UNDO) | Q(reason__regex=r"\S"),
                name="rod_withdrawal_pull_back_has_reason",
                violation_error_message="reason: accepted is why the rods were pulled back.",
            ),
        )

    def __str__(self) -> str:
        """From which rod on, and why."""
        return f"from rod {self.rod.number} on: {self.get_kind_display()}"

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.rod.bore.job_id
