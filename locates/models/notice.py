"""What people were told of the things that they follow."""

from uuid import uuid4

from django.conf import settings
from django.db import models

from locates.models.bounds import one_of
from locates.models.job import Job
from locates.models.mark import Mark
from locates.models.membership import organisation_of
from locates.models.ticket import Ticket


class NoticeEvent(models.TextChoices):
    """What can come to pass with a ticket or a mark that somebody follows."""

    ANSWER_OVERDUE = "answer_overdue", "answer overdue"
    STARTS_UNANSWERED = "starts_unanswered", "start reached, answers missing"
    RENEWAL_DUE = "renewal_due", "renewal due today"
    EXPIRES_SOON = "expires_soon", "expires soon"
    EXPIRED = "expired", "expired"
    MARK_GONE = "mark_gone", "mark reported gone"


class NoticeQuerySet(models.QuerySet["Notice"]):
    """Sets of notices."""

    def of(self, person_id: int) -> "NoticeQuerySet":
        """What one person was told, the unread first, then the newest."""
        is_read = models.Case(models.When(read_at__isnull=True, then=0), default=1)
        worded = self._told_to(person_id)
        return worded.order_by(is_read, "-made_at", "-due_at", "pk")

    def unread(self, person_id: int) -> "NoticeQuerySet":
        """What one person was told and has not read."""
        return self._told_to(person_id).filter(read_at__isnull=True)

    def _told_to(self, person_id: int) -> "NoticeQuerySet":
        """What one person was told of jobs of the company that the person belongs to."""
        ours = self.filter(person_id=person_id, job__organisation_id=organisation_of(person_id))
        return ours.exclude(words="")


class Notice(models.Model):
    """One thing told to one person, once: who, of which ticket or mark, what, and the moment it fell due.

    The moment is part of the key: a date that somebody changes falls due anew. The words are written in the
    step after the row is made; until then the notice is shown and sent to nobody.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="notices")
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="notices")
    ticket = models.ForeignKey(
        Ticket, on_delete=models.CASCADE, null=True, blank=True, related_name="notices"
    )
    mark = models.ForeignKey(Mark, on_delete=models.CASCADE, null=True, blank=True, related_name="notices")
    event = models.CharField(max_length=20, choices=NoticeEvent)
    due_at = models.DateTimeField()
    made_at = models.DateTimeField(auto_now_add=True)
    subject = models.CharField(max_length=300, blank=True)
    words = models.TextField(blank=True)
    read_at = models.DateTimeField(null=True, blank=True)

    objects = NoticeQuerySet.as_manager()

    class Meta:
        """How notices are ordered and bounded."""

        ordering = ("-made_at",)
        indexes = (
            models.Index(fields=("person", "-made_at"), name="notice_of_person"),
            models.Index(fields=("person",), condition=models.Q(read_at__isnull=True), name="notice_unread"),
            models.Index(fields=("made_at",), condition=models.Q(words=""), name="notice_without_words"),
        )
        constraints = (
            models.CheckConstraint(
                condition=models.Q(event=NoticeEvent.MARK_GONE, mark__isnull=False)
                | (
                    ~models.Q(event=NoticeEvent.MARK_GONE) & models.Q(mark__isnull=True, ticket__isnull=False)
                ),
                name="notice_names_its_thing",
                violation_error_message="ticket: accepted is the ticket, or the mark, that the event is of.",
            ),
            models.UniqueConstraint(
                fields=("person", "ticket", "event", "due_at"),
                condition=models.Q(mark__isnull=True),
                name="notice_of_ticket_once",
                violation_error_message="event: accepted is one that the person has not been told of.",
            ),
            models.UniqueConstraint(
                fields=("person", "mark", "event", "due_at"),
                condition=models.Q(mark__isnull=False),
                name="notice_of_mark_once",
                violation_error_message="event: accepted is one that the person has not been told of.",
            ),
            one_of("notice", "event", NoticeEvent),
        )

    def __str__(self) -> str:
        """Its subject."""
        return self.subject or self.get_event_display()
