"""What a ticket asks of a person now, reckoned for lists."""

from django.db import models

from locates.models.bounds import one_of
from locates.models.job import Job
from locates.models.organisation import Organisation
from locates.models.ticket import Ticket


class TicketMatterKind(models.TextChoices):
    """What a ticket can ask for."""

    ANSWER_OVERDUE = "answer_overdue", "answer overdue"
    ENTER_DATES = "enter_dates", "dates to enter"
    NAME_OPERATORS = "name_operators", "operators to name"
    STARTS_SOON = "starts_soon", "starts soon"
    CALL_RENEWAL = "call_renewal", "renewal to call"
    EXPIRES_SOON = "expires_soon", "expires soon"
    EXPIRED = "expired", "expired"
    RE_MARK_ASKED = "re_mark_asked", "re-mark asked"


class TicketMatter(models.Model):
    """One thing that a live ticket asks of a person, and the moment that it is about."""

    ticket = models.ForeignKey(Ticket, on_delete=models.CASCADE, related_name="matters", db_index=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+", db_index=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="+", db_index=False)
    matter = models.CharField(max_length=20, choices=TicketMatterKind)
    due_at = models.DateTimeField()

    class Meta:
        """How matters are ordered, found and bounded."""

        ordering = ("due_at", "id")
        indexes = (
            models.Index(fields=("organisation", "due_at", "id"), name="matter_due"),
            models.Index(fields=("organisation", "matter", "due_at", "id"), name="matter_kind_due"),
            models.Index(fields=("job", "due_at", "id"), name="matter_job_due"),
        )
        constraints = (
            models.UniqueConstraint(
                fields=("ticket", "matter"),
                name="ticket_matter_once",
                violation_error_message="matter: accepted is one that the ticket does not have yet.",
            ),
            one_of("ticket_matter", "matter", TicketMatterKind),
        )

    def __str__(self) -> str:
        """Ticket and matter."""
        return f"{self.ticket}: {self.get_matter_display()}"
