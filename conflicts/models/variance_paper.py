"""Papers that show why a variance is safe: drawings, calculations, letters."""

from collections.abc import Collection
from typing import Any, ClassVar
from uuid import UUID

from django.db import models

from conflicts.models.signed import SignedQuerySet, SignedRecord, name_then, signer
from conflicts.models.variance import Variance
from locates.models.bounds import written
from locates.models.paper_file import PaperFile, digest_of_content, paper_bounds


class VariancePaperQuerySet(SignedQuerySet):
    """Sets of papers."""

    def rows_of(self, ids: Collection[UUID]) -> "VariancePaperQuerySet":
        """Papers of given ids, their bytes left in the database, which takes their digests anew."""
        return super().rows_of(ids).defer("content").annotate(content_digest=digest_of_content())

    def listed(self) -> "VariancePaperQuerySet":
        """Without their bytes, the oldest first: what a list shows."""
        return self.defer("content").order_by("added_at", "id")


class VariancePaper(PaperFile, SignedRecord):
    """A paper of a variance, byte by byte as it came: never changed and never taken away."""

    LEDGER_KIND: ClassVar[str] = "variance_paper"
    SIGNER: ClassVar[str] = "added_by"
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ("variance__bore",)

    variance = models.ForeignKey(Variance, on_delete=models.PROTECT, related_name="papers")
    added_by = signer("added")
    added_by_name = name_then("added")
    added_at = models.DateTimeField()

    objects = VariancePaperQuerySet.as_manager()

    class Meta:
        """How papers are ordered and bounded."""

        ordering = ("variance_id", "added_at", "id")
        constraints = (
            models.UniqueConstraint(
                fields=("variance", "sha256"),
                name="variance_paper_once",
                violation_error_message="sha256: accepted is a paper that this variance does not have yet.",
            ),
            *written("variance_paper", "added_by_name"),
            *paper_bounds("variance_paper"),
        )

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.variance.bore.job_id

    def ledger_content(self) -> dict[str, Any]:
        """Every column but the bytes, which stand in it by their digest, as kept and as found."""
        content = super().ledger_content()
        found = getattr(self, "content_digest", self.sha256)
        if found != self.sha256:
            content["sha256"] = f"{self.sha256} is kept, {found} found"
        return content
