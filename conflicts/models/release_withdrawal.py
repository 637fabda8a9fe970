"""A release that somebody took back."""

from typing import ClassVar
from uuid import UUID

from django.db import models

from conflicts.models.release import Release
from conflicts.models.signed import SignedRecord, name_then, signer
from locates.models.bounds import written


class ReleaseWithdrawal(SignedRecord):
    """From its moment on the release no longer holds."""

    LEDGER_KIND: ClassVar[str] = "release_withdrawal"
    SIGNER: ClassVar[str] = "withdrawn_by"
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ("release__bore",)

    release = models.OneToOneField(Release, on_delete=models.PROTECT, related_name="withdrawal")
    withdrawn_by = signer("withdrawn")
    withdrawn_by_name = name_then("withdrawn")
    withdrawn_at = models.DateTimeField()
    reason = models.TextField()

    class Meta:
        """How withdrawals are ordered and bounded."""

        ordering = ("-withdrawn_at", "id")
        constraints = (*written("release_withdrawal", "withdrawn_by_name", "reason"),)

    def __str__(self) -> str:
        """By whom, and when."""
        return f"withdrawn by {self.withdrawn_by_name} at {self.withdrawn_at:%Y-%m-%d %H:%M} UTC"

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.release.bore.job_id
