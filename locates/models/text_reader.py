"""Patterns that a company keeps to read the text of confirmations."""

from collections.abc import Collection
from uuid import uuid4

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models

from locates.intake.errors import PatternError
from locates.intake.patterns import make_ready
from locates.intake.text_fields import BY_NAME
from locates.intake.ticket_text import LONGEST_TEXT
from locates.models.bounds import written
from locates.models.organisation import Organisation


class TextReader(models.Model):
    """The patterns for one layout of confirmation, with a sample to try them on.

    ``patterns`` maps names of `locates.intake.text_fields.TEXT_FIELDS` to patterns.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="text_readers")
    name = models.CharField(max_length=100)
    patterns = models.JSONField(default=dict)
    sample = models.TextField(blank=True, max_length=LONGEST_TEXT)
    is_in_use = models.BooleanField("in use", default=True)
    version = models.PositiveIntegerField(default=1, editable=False)
    edited_at = models.DateTimeField("last edited at", auto_now=True)
    edited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )

    class Meta:
        """How readers are ordered and bounded."""

        ordering = ("organisation__name", "name")
        constraints = (
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="text_reader_name_once",
                violation_error_message="name: accepted is a name that no other reader of the company has.",
            ),
            *written("text_reader", "name"),
        )

    def __str__(self) -> str:
        """Name."""
        return self.name

    def validate_constraints(self, exclude: Collection[str] | None = None) -> None:
        """Hold the name against the company's other readers, though no form has a field for the company."""
        super().validate_constraints(exclude=set(exclude or ()) - {"organisation"})

    def clean(self) -> None:
        """Refuse patterns that cannot be used."""
        unknown = sorted(set(self.patterns) - set(BY_NAME))
        if unknown:
            raise ValidationError(
                {"patterns": f"found {', '.join(unknown)}; accepted: {', '.join(BY_NAME)}."}
            )
        for name, pattern in self.patterns.items():
            try:
                make_ready(BY_NAME[name], pattern)
            except PatternError as error:
                raise ValidationError({"patterns": str(error)}) from error
