"""Choices of the board that a person keeps under a name."""

from uuid import uuid4

from django.conf import settings
from django.db import models

from locates.models.bounds import one_of, written

MOST_VIEWS = 40
"""Views that one person may keep: more than are found at a glance help nobody."""


class BoardList(models.TextChoices):
    """The lists that a view can be of."""

    MATTERS = "matters", "what to do"
    TICKETS = "tickets", "all tickets"


class SavedView(models.Model):
    """Filters and order of one of the board's lists, kept by the person who made them."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="saved_views", db_index=False
    )
    name = models.CharField(max_length=60)
    board_list = models.CharField("list", max_length=10, choices=BoardList)
    query = models.CharField(max_length=1000, blank=True, help_text="The choices as an address has them.")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        """How views are ordered and bounded."""

        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("user", "name"),
                name="saved_view_name_once",
                violation_error_message="name: accepted is a name that none of your views has.",
            ),
            *written("saved_view", "name"),
            one_of("saved_view", "board_list", BoardList),
        )

    def __str__(self) -> str:
        """Name."""
        return self.name
