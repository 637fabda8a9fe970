"""Notices to the one-call centre."""

from datetime import datetime
from uuid import uuid4

from django.contrib.gis.db import models
from django.db.models import Q

from locates.models.bounds import in_order, on_the_globe, one_of, sound_area, written
from locates.models.job import Job
from locates.models.retirable import LiveManager, Retirable, once_among_live


class TicketKind(models.TextChoices):
    """What a ticket asks for."""

    ROUTINE = "routine", "routine"
    EMERGENCY = "emergency", "emergency"
    RENEWAL = "renewal", "renewal"
    RE_MARK = "re_mark", "re-mark"
    SITE_MEETING = "site_meeting", "site meeting"


class TicketQuerySet(models.QuerySet["Ticket"]):
    """Sets of tickets."""

    def in_force(self, at: datetime) -> "TicketQuerySet":
        """Tickets whose legal start has come and whose expiry has not; an unknown date is never in force."""
        return self.filter(Q(legal_start_at__lte=at) & Q(expires_at__gt=at))


class Ticket(Retirable):
    """Notice to the one-call centre: a work area, a legal start and an expiry."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="tickets")
    number = models.CharField(max_length=200)
    ticket_kind = models.CharField("kind", max_length=20, choices=TicketKind)
    called_at = models.DateTimeField("called in at")
    legal_start_at = models.DateTimeField("legal start", null=True, blank=True)
    expires_at = models.DateTimeField("expires", null=True, blank=True)
    override_reason = models.TextField(
        blank=True, help_text="Why a person set other dates than the jurisdiction's rule gives."
    )
    previous_number = models.CharField(
        max_length=200, blank=True, help_text="Ticket that this one renews or re-marks."
    )
    white_lined = models.BooleanField("white lining", null=True, blank=True)
    boring_declared = models.BooleanField(
        null=True, blank=True, help_text="The notice said that the work is trenchless."
    )
    area = models.MultiPolygonField("work area", srid=4326)

    objects = LiveManager.from_queryset(TicketQuerySet)()
    with_retired = TicketQuerySet.as_manager()

    class Meta:
        """How tickets are ordered and bounded."""

        ordering = ("job_id", "called_at", "number")
        constraints = (
            once_among_live(
                "job",
                "number",
                name="ticket_number_once",
                accepted="number: accepted is a number that no other ticket of the job has.",
            ),
            *written("ticket", "number"),
            one_of("ticket", "ticket_kind", TicketKind),
            in_order("ticket", "called_at", "legal_start_at"),
            in_order("ticket", "called_at", "expires_at", may_equal=False),
            in_order("ticket", "legal_start_at", "expires_at", may_equal=False),
            on_the_globe("ticket", "area"),
            sound_area("ticket", "area"),
        )

    def __str__(self) -> str:
        """Number and kind."""
        return f"{self.number} ({self.get_ticket_kind_display()})"
