"""The company that a job belongs to."""

from uuid import uuid4

from django.db import models

from locates.models.bounds import written

DEFAULT_ORGANISATION = "Our company"
"""Name of the organisation that a job gets where nobody names one and there is none yet."""


class Organisation(models.Model):
    """A company whose crews drill."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    name = models.CharField(
        max_length=200,
        unique=True,
        error_messages={"unique": "name: accepted is a name that no other organisation has."},
    )

    class Meta:
        """How organisations are ordered and bounded."""

        ordering = ("name",)
        constraints = (*written("organisation", "name"),)

    def __str__(self) -> str:
        """Name."""
        return self.name
