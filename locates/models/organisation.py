"""The company that a job belongs to."""

from uuid import uuid4

from django.db import models

from locates.models.bounds import written

DEFAULT_ORGANISATION = "Our company"
"""Name of the organisation that a job gets where nobody names one and there is none yet."""

LONGEST_LEAD_HOURS = 24 * 90
"""Longer than the life of most tickets: with more, every ticket would stand on the board all the time."""


class Organisation(models.Model):
    """A company whose crews drill."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    name = models.CharField(
        max_length=200,
        unique=True,
        error_messages={"unique": "name: accepted is a name that no other organisation has."},
    )
    desk_lead_hours = models.PositiveIntegerField(
        "lead time of the ticket desk (hours)",
        default=48,
        help_text="How long before a start, a renewal date or an expiry the board shows the ticket.",
    )

    class Meta:
        """How organisations are ordered and bounded."""

        ordering = ("name",)
        constraints = (
            *written("organisation", "name"),
            models.CheckConstraint(
                condition=models.Q(desk_lead_hours__lte=LONGEST_LEAD_HOURS),
                name="organisation_desk_lead_hours_bounded",
                violation_error_message=(
                    f"desk_lead_hours: accepted is a whole number, 0 to {LONGEST_LEAD_HOURS}."
                ),
            ),
        )

    def __str__(self) -> str:
        """Name."""
        return self.name
