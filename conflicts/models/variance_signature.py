"""The safety manager's signature under a variance."""

from typing import ClassVar
from uuid import UUID

from django.db import models

from conflicts.faults import Fault
from conflicts.models.crossing import Verdict
from conflicts.models.signed import SignedRecord, name_then, signer
from conflicts.models.variance import Variance
from conflicts.variance_words import VarianceFacts
from locates.models.bounds import finite, in_order, not_negative, one_of, written


class VarianceSignature(SignedRecord):
    """From its moment on, and no longer than its end, the variance is in force. Never signed by who asked.

    It keeps what stood when it was signed, the check's faults or the crossing's records, verdict and figures,
    and excuses nothing else. It covers the photos and papers that stood then, and none that came later.
    """

    LEDGER_KIND: ClassVar[str] = "variance"
    SIGNER: ClassVar[str] = "signed_by"
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ("variance__bore",)
    LATER_COLUMNS: ClassVar[tuple[str, ...]] = (
        "faults",
        "verdict",
        "worst_case_m",
        "required_m",
        "covered",
    )

    variance = models.OneToOneField(Variance, on_delete=models.PROTECT, related_name="signature")
    signed_by = signer("signed")
    signed_by_name = name_then("signed")
    signed_at = models.DateTimeField()
    valid_from = models.DateTimeField()
    valid_until = models.DateTimeField()
    remarks = models.TextField(blank=True)
    faults = models.JSONField(
        "faults of the check", null=True, blank=True, help_text="Each by key and words."
    )
    verdict = models.CharField(max_length=10, choices=Verdict, blank=True, default="")
    worst_case_m = models.FloatField("worst case (m)", null=True, blank=True)
    required_m = models.FloatField("required (m)", null=True, blank=True)
    covered = models.JSONField(
        "evidence that it covers",
        null=True,
        blank=True,
        help_text="Each by kind, file name and SHA-256; none where it was signed before they were named.",
    )

    class Meta:
        """How signatures are ordered and bounded."""

        ordering = ("-signed_at", "id")
        constraints = (
            *written("variance_signature", "signed_by_name"),
            in_order("variance_signature", "valid_from", "valid_until", may_equal=False),
            in_order("variance_signature", "signed_at", "valid_from"),
            one_of("variance_signature", "verdict", Verdict, blank=True),
            *finite("variance_signature", "worst_case_m"),
            *not_negative("variance_signature", "required_m"),
        )

    def __str__(self) -> str:
        """By whom, and until when."""
        return f"signed by {self.signed_by_name}, until {self.valid_until:%Y-%m-%d %H:%M} UTC"

    @property
    def facts(self) -> VarianceFacts:
        """What stood when it was signed."""
        faults = None if self.faults is None else tuple(Fault(key, words) for key, words in self.faults)
        return VarianceFacts(faults, self.verdict or "", self.worst_case_m, self.required_m)

    def bind(self, facts: VarianceFacts) -> None:
        """Keep what stands at the moment of signing."""
        self.faults = None if facts.faults is None else [list(one) for one in facts.faults]
        self.verdict, self.worst_case_m, self.required_m = facts.verdict, facts.worst_case_m, facts.required_m

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.variance.bore.job_id
