"""Notices to the one-call centre."""

from datetime import datetime
from uuid import uuid4

from django.conf import settings
from django.contrib.gis.db import models
from django.db.models import F, OuterRef, Q, Subquery

from locates.models.bounds import in_order, on_the_globe, one_of, positive, sound_area, written
from locates.models.job import Job
from locates.models.jurisdiction_rule import JurisdictionRule
from locates.models.membership import organisation_of
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

    def seen_by(self, person_id: int | None) -> "TicketQuerySet":
        """Tickets of the company that a person belongs to."""
        return self.filter(job__organisation_id=organisation_of(person_id))

    def in_force(self, at: datetime) -> "TicketQuerySet":
        """Tickets for work that goes on whose legal start has come and whose expiry has not.

        An unknown date is never in force, nor is a ticket that only asks for a site meeting.
        """
        going_on = self.filter(work_finished_at=None).exclude(ticket_kind=TicketKind.SITE_MEETING)
        return going_on.filter(Q(legal_start_at__lte=at) & Q(expires_at__gt=at))

    def of_use(self, at: datetime) -> "TicketQuerySet":
        """Tickets that a rule has dated, that are not over, and whose work goes on."""
        return self.filter(dates_rule__isnull=False, work_finished_at=None).exclude(expires_at__lte=at)

    def to_review(self, at: datetime) -> "TicketQuerySet":
        """Tickets still of use whose dates rest on another rule than that in use, or on other days.

        ``newest_rule`` is that of the job's company. A ticket that a person has held against it is none of
        them, unless a day of the centre's own has changed since; one that the centre alone dated rests on
        no rule.
        """
        counting = JurisdictionRule.objects.of_place(
            OuterRef("job__jurisdiction__code"), OuterRef("job__organisation")
        )
        return (
            self.of_use(at)
            .filter(job__in=Job.objects.all())
            .annotate(newest_rule=Subquery(counting.values("pk")[:1]))
            .filter(
                Q(day_review__isnull=False)
                | ~(
                    Q(dates_rule=F("newest_rule"))
                    | Q(reviewed_rule__isnull=False, reviewed_rule=F("newest_rule"))
                )
            )
        )


class Ticket(Retirable):
    """Notice to the one-call centre: a work area, a legal start and an expiry."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="tickets")
    number = models.CharField(max_length=200)
    ticket_kind = models.CharField("kind", max_length=20, choices=TicketKind)
    called_by = models.CharField(max_length=200, blank=True, help_text="Who gave the notice.")
    called_at = models.DateTimeField("called in at")
    wanted_start_at = models.DateTimeField(
        "start wanted", null=True, blank=True, help_text="Start that the notice asked for."
    )
    response_due_at = models.DateTimeField("answers due", null=True, blank=True)
    legal_start_at = models.DateTimeField("legal start", null=True, blank=True)
    latest_start_at = models.DateTimeField("latest start", null=True, blank=True)
    renew_by = models.DateTimeField("renew by", null=True, blank=True)
    expires_at = models.DateTimeField("expires", null=True, blank=True)
    dates_rule = models.ForeignKey(
        JurisdictionRule,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Version of the rule that the dates were worked out under.",
    )
    computed_dates = models.JSONField(
        default=dict,
        blank=True,
        help_text="Each date as worked out when the ticket was logged, with its working; never rewritten.",
    )
    reviewed_rule = models.ForeignKey(
        JurisdictionRule,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Latest version of the rule that a person has held the dates against.",
    )
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
    stated_depth_m = models.FloatField(
        "depth stated (m)", null=True, blank=True, help_text="Greatest depth that the notice names."
    )
    stated_method = models.CharField(
        "method stated", max_length=200, blank=True, help_text="How the notice says that the work is done."
    )
    work_finished_at = models.DateTimeField(
        "work finished", null=True, blank=True, help_text="Said by a person: no renewal is wanted."
    )
    work_finished_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    area = models.MultiPolygonField("work area", srid=4326)

    objects = LiveManager.from_queryset(TicketQuerySet)()
    with_retired = TicketQuerySet.as_manager()

    class Meta:
        """How tickets are ordered and bounded."""

        ordering = ("job_id", "called_at", "number")
        indexes = (
            # Who renews or re-marks a ticket, asked of many tickets at a time.
            models.Index(
                fields=("job", "previous_number"), condition=~Q(previous_number=""), name="ticket_previous"
            ),
            # The calendar asks of all tickets what falls into a few weeks.
            *(
                models.Index(fields=(date,), condition=Q((f"{date}__isnull", False)), name=f"ticket_{date}")
                for date in ("response_due_at", "legal_start_at", "latest_start_at", "renew_by", "expires_at")
            ),
        )
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
            in_order("ticket", "called_at", "wanted_start_at"),
            in_order("ticket", "called_at", "response_due_at"),
            in_order("ticket", "called_at", "latest_start_at"),
            in_order("ticket", "legal_start_at", "latest_start_at"),
            in_order("ticket", "latest_start_at", "expires_at"),
            in_order("ticket", "called_at", "renew_by"),
            in_order("ticket", "renew_by", "expires_at"),
            in_order("ticket", "called_at", "work_finished_at"),
            *positive("ticket", "stated_depth_m"),
            models.CheckConstraint(
                condition=Q(computed_dates={}) | Q(dates_rule__isnull=False),
                name="ticket_computed_dates_have_a_rule",
                violation_error_message="computed_dates: accepted are dates with the rule that they rest on.",
            ),
            models.CheckConstraint(
                condition=Q(work_finished_at__isnull=False) | Q(work_finished_by=None),
                name="ticket_work_finished_by_has_a_moment",
                violation_error_message="work_finished_by: accepted is a person once the work is finished.",
            ),
            on_the_globe("ticket", "area"),
            sound_area("ticket", "area"),
        )

    def __str__(self) -> str:
        """Number and kind."""
        return f"{self.number} ({self.get_ticket_kind_display()})"
