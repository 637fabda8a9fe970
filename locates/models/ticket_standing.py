"""How every ticket stands, reckoned for lists; whoever asks whether drilling may begin reads the records."""

from datetime import datetime

from django.db import models

from locates.models.bounds import one_of
from locates.models.job import Job
from locates.models.organisation import Organisation
from locates.models.ticket import Ticket


class TicketState(models.TextChoices):
    """How a ticket stands at a moment; of several the first in `ticket_reckoning` counts."""

    NOT_STARTED = "not_started", "not started"
    IN_FORCE = "in_force", "in force"
    EXPIRED = "expired", "expired"
    UNDATED = "undated", "a date is missing"
    REPLACED = "replaced", "renewed or re-marked"
    FINISHED = "finished", "work finished"


class TicketStandingQuerySet(models.QuerySet["TicketStanding"]):
    """Sets of standings."""

    def due(self, at: datetime) -> "TicketStandingQuerySet":
        """Those that time alone has changed since they were reckoned."""
        return self.filter(changes_at__lte=at)


class TicketStanding(models.Model):
    """The state of a live ticket as it was last reckoned, and the next moment at which time changes it."""

    ticket = models.OneToOneField(Ticket, on_delete=models.CASCADE, primary_key=True, related_name="standing")
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+", db_index=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="+", db_index=False)
    called_at = models.DateTimeField(help_text="The ticket's own, so that a list in its order reads no more.")
    state = models.CharField(max_length=20, choices=TicketState)
    named_count = models.PositiveIntegerField(default=0, help_text="Operators that are logged on it.")
    awaited_count = models.PositiveIntegerField(default=0, help_text="Operators without a final answer.")
    overdue_count = models.PositiveIntegerField(
        default=0, help_text="Those of them past the deadline, while it is not over."
    )
    changes_at = models.DateTimeField(null=True)
    reckoned_at = models.DateTimeField(help_text="When it last came out otherwise than before.")

    objects = TicketStandingQuerySet.as_manager()

    class Meta:
        """How standings are found and bounded."""

        indexes = (
            models.Index(fields=("changes_at",), name="standing_changes"),
            models.Index(fields=("organisation", "called_at", "ticket"), name="standing_called"),
            models.Index(
                fields=("organisation", "state", "called_at", "ticket"), name="standing_state_called"
            ),
            models.Index(fields=("job", "called_at", "ticket"), name="standing_job_called"),
        )
        constraints = (
            one_of("ticket_standing", "state", TicketState),
            models.CheckConstraint(
                condition=models.Q(awaited_count__lte=models.F("named_count")),
                name="ticket_standing_awaited_are_named",
                violation_error_message="awaited_count: accepted is no more than named_count.",
            ),
            models.CheckConstraint(
                condition=models.Q(overdue_count__lte=models.F("awaited_count")),
                name="ticket_standing_overdue_are_awaited",
                violation_error_message="overdue_count: accepted is no more than awaited_count.",
            ),
        )

    def __str__(self) -> str:
        """Ticket and state."""
        return f"{self.ticket}: {self.get_state_display()}"
