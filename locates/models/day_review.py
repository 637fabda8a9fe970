"""Tickets that a change of a centre's days would date otherwise."""

from django.db import models

from locates.models.centre_day import CentreDay
from locates.models.ticket import Ticket


class DayReview(models.Model):
    """One ticket that a person is to look at, since a day between its dates now counts otherwise.

    There is none once somebody has looked, or the days are again as they were when the ticket was dated.
    """

    ticket = models.OneToOneField(
        Ticket, on_delete=models.CASCADE, primary_key=True, related_name="day_review"
    )
    centre_day = models.ForeignKey(CentreDay, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(auto_now=True)

    class Meta:
        """How reviews are ordered."""

        ordering = ("asked_at",)

    def __str__(self) -> str:
        """The day."""
        return str(self.centre_day)
