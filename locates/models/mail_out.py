"""Mail on its way out, and the record of what was sent."""

from datetime import datetime
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import Q

from locates.models.bounds import one_of, written
from locates.models.membership import organisation_of
from locates.models.notice import Notice


class MailKind(models.TextChoices):
    """What a mail is for."""

    ALERT = "alert", "alert"
    DIGEST = "digest", "daily digest"


class MailState(models.TextChoices):
    """Where a mail stands."""

    WAITING = "waiting", "waiting"
    SENT = "sent", "sent"
    REFUSED = "refused", "refused by the mail server"


class OutgoingMailQuerySet(models.QuerySet["OutgoingMail"]):
    """Sets of mails."""

    def seen_by(self, person_id: int | None) -> "OutgoingMailQuerySet":
        """Mails to the people of a person's company about its jobs."""
        ours = organisation_of(person_id)
        about_ours = Q(notice__isnull=True) | Q(notice__job__organisation_id=ours)
        return self.filter(about_ours, person__membership__organisation_id=ours)

    def take_one(self, at: datetime) -> "OutgoingMail | None":
        """Lock the mail whose turn it is, past those that others hold; to be called in a transaction."""
        due = self.filter(state=MailState.WAITING, next_attempt_at__lte=at).order_by("made_at", "pk")
        return due.select_for_update(skip_locked=True).first()


class OutgoingMail(models.Model):
    """One mail to one person: waiting, sent or refused; its ``Message-ID`` is the same at every attempt."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="mails"
    )
    kind = models.CharField(max_length=10, choices=MailKind)
    notice = models.OneToOneField(
        Notice, on_delete=models.SET_NULL, null=True, blank=True, related_name="mail"
    )
    digest_on = models.DateField("day of the digest", null=True, blank=True)
    to_address = models.EmailField()
    subject = models.CharField(max_length=300)
    body = models.TextField()
    message_id = models.CharField(max_length=300, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=10, choices=MailState, default=MailState.WAITING)
    attempts = models.PositiveIntegerField(default=0)
    next_attempt_at = models.DateTimeField()
    last_error = models.TextField(blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)

    objects = OutgoingMailQuerySet.as_manager()

    class Meta:
        """How mails are ordered and bounded, and who may read those of others."""

        ordering = ("-made_at", "pk")
        permissions = (("read_every_mail", "Can read every mail that was sent"),)
        indexes = (
            models.Index(
                fields=("made_at",), condition=Q(state=MailState.WAITING), name="outgoing_mail_waiting"
            ),
            models.Index(fields=("person", "-made_at"), name="outgoing_mail_of_person"),
        )
        constraints = (
            *written("outgoing_mail", "to_address", "subject", "body"),
            one_of("outgoing_mail", "kind", MailKind),
            one_of("outgoing_mail", "state", MailState),
            models.CheckConstraint(
                condition=Q(state=MailState.SENT, sent_at__isnull=False)
                | (~Q(state=MailState.SENT) & Q(sent_at__isnull=True)),
                name="outgoing_mail_sent_has_sent_at",
                violation_error_message="sent_at: accepted is a moment once the mail is sent.",
            ),
            models.CheckConstraint(
                condition=Q(kind=MailKind.DIGEST, digest_on__isnull=False)
                | (~Q(kind=MailKind.DIGEST) & Q(digest_on__isnull=True)),
                name="outgoing_mail_digest_has_its_day",
                violation_error_message="digest_on: accepted is the day of a digest.",
            ),
            models.UniqueConstraint(
                fields=("person", "digest_on"),
                name="outgoing_mail_digest_once_a_day",
                violation_error_message="digest_on: accepted is a day without a digest to the person.",
            ),
        )

    def __str__(self) -> str:
        """Subject and recipient."""
        return f"{self.subject} to {self.to_address}"
