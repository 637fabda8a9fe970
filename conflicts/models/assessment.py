"""What was last computed of a bore."""

from uuid import uuid4

from django.db import models

from conflicts.models.bore import Bore
from locates.models.bounds import positive

DIGEST = r"^[0-9a-f]{64}$"
"""A SHA-256 in hexadecimal."""


def digest_written(record: str) -> models.CheckConstraint:
    """A digest of the inputs that is 64 hexadecimal digits."""
    return models.CheckConstraint(
        condition=models.Q(inputs_digest__regex=DIGEST),
        name=f"{record}_inputs_digest_sound",
        violation_error_message="inputs_digest: accepted are 64 hexadecimal digits.",
    )


class Assessment(models.Model):
    """The stored figures of a bore: derived, and current only while the digest of its inputs is the same."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    bore = models.OneToOneField(Bore, on_delete=models.CASCADE, related_name="assessment")
    inputs_digest = models.CharField("digest of the inputs", max_length=64)
    drilled_digest = models.CharField(
        "digest of what the drilled hole rests on",
        max_length=64,
        blank=True,
        help_text="Empty until that is computed, and where no rod was logged.",
    )
    length_m = models.FloatField("length of the bore (m)")
    assessed_at = models.DateTimeField()

    class Meta:
        """How assessments are ordered and bounded."""

        ordering = ("bore_id",)
        constraints = (
            digest_written("assessment"),
            models.CheckConstraint(
                condition=models.Q(drilled_digest="") | models.Q(drilled_digest__regex=DIGEST),
                name="assessment_drilled_digest_sound",
                violation_error_message="drilled_digest: accepted are 64 hexadecimal digits, or none.",
            ),
            *positive("assessment", "length_m"),
        )

    def __str__(self) -> str:
        """Of which bore, and when."""
        return f"{self.bore} at {self.assessed_at:%Y-%m-%d %H:%M} UTC"
