"""What the facility operators on a ticket answered."""

from uuid import UUID, uuid4

from django.db import models
from django.db.models import Exists, OuterRef, Q

from locates.answers import FINAL_RESPONSES
from locates.models.bounds import one_of
from locates.models.facility_operator import FacilityOperator
from locates.models.mark import Mark
from locates.models.retirable import LiveManager, Retirable
from locates.models.same_job import refuse_other_jobs
from locates.models.ticket import Ticket


class ResponseKind(models.TextChoices):
    """What an operator can answer."""

    AWAITING = "awaiting", "awaiting"
    MARKED = "marked", "marked"
    NO_FACILITIES = "no_facilities", "no facilities"
    PARTLY_MARKED = "partly_marked", "partly marked"
    EXTENSION_ASKED = "extension_asked", "extension asked"
    STANDING_BY = "standing_by", "standing by"


class ResponseQuerySet(models.QuerySet["Response"]):
    """Sets of responses."""

    def latest_each(self) -> "ResponseQuerySet":
        """The last answer of each operator on each ticket: the one of the highest sequence."""
        return self.order_by("ticket_id", "operator_id", "-sequence").distinct("ticket_id", "operator_id")

    def that_count(self) -> "ResponseQuerySet":
        """Those after which the operator has said nothing else on the ticket; a set to filter further."""
        later = self.model.objects.filter(
            ticket=OuterRef("ticket"), operator=OuterRef("operator"), sequence__gt=OuterRef("sequence")
        )
        return self.filter(~Exists(later))

    def that_marks_contradict(self) -> "ResponseQuerySet":
        """Those that count and say "no facilities" over a mark of the operator, or "marked" over none.

        A mark counts where it lies in the ticket's work area; a fresh annotation ``has_marks`` says so.
        """
        in_the_area = Mark.objects.filter(
            job=OuterRef("ticket__job"),
            operator=OuterRef("operator"),
            geometry__intersects=OuterRef("ticket__area"),
        )
        denied = Q(response=ResponseKind.NO_FACILITIES, has_marks=True)
        bare = Q(response=ResponseKind.MARKED, has_marks=False)
        claims = self.filter(response__in=FINAL_RESPONSES).that_count()
        return claims.annotate(has_marks=Exists(in_the_area)).filter(denied | bare)

    def next_sequence(self, ticket: Ticket) -> int:
        """The place after the last answer of a ticket; a retired one keeps its place."""
        last = self.model.with_retired.filter(ticket=ticket).aggregate(last=models.Max("sequence"))["last"]
        return 0 if last is None else last + 1


class Response(Retirable):
    """One answer of one operator; earlier answers stay, the highest sequence counts."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    ticket = models.ForeignKey(Ticket, on_delete=models.CASCADE, related_name="responses")
    operator = models.ForeignKey(FacilityOperator, on_delete=models.RESTRICT, related_name="responses")
    response = models.CharField(max_length=20, choices=ResponseKind)
    responded_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.CharField(
        max_length=200, blank=True, help_text="Who at the operator said so, or where it was read."
    )
    note = models.TextField(blank=True)
    sequence = models.PositiveIntegerField(help_text="Place in the ticket's history, from 0.")

    objects = LiveManager.from_queryset(ResponseQuerySet)()
    with_retired = ResponseQuerySet.as_manager()

    class Meta:
        """How responses are ordered and bounded."""

        ordering = ("ticket_id", "sequence")
        constraints = (
            models.UniqueConstraint(
                fields=("ticket", "sequence"),
                name="response_sequence_once",
                violation_error_message="sequence: accepted is a place that no other response has.",
            ),
            one_of("response", "response", ResponseKind),
        )

    def __str__(self) -> str:
        """Who answered what."""
        return f"{self.operator}: {self.get_response_display()}"

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.ticket.job_id

    def clean(self) -> None:
        """Refuse what belongs to another job."""
        refuse_other_jobs(self, self.ticket.job_id if self.ticket_id else None, "operator")
