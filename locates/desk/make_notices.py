"""Tell people what has come to pass with what they follow: a notice each, once, and mail if it is wanted."""

from datetime import datetime

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from locates.desk.write_mail import alert_of, may_get_mail
from locates.models import Notice, OutgoingMail
from locates.models.notice_making import make_notices_at
from locates.notice_words import NoticeSubject, notice_subject, notice_words

MOST_AT_ONCE = 200


def make_notices() -> int:
    """Make the notices that are due, word them and queue their mail; gives how many were worded.

    Safe to run twice and at once; a run that is killed is finished by the next one.
    """
    with transaction.atomic():
        make_notices_at(timezone.now())
    worded = 0
    while count := _word_some(timezone.now()):
        worded += count
    return worded


def _word_some(at: datetime) -> int:
    """Word a batch in one transaction with its mails, so that a notice shown is a notice mailed."""
    with transaction.atomic():
        waiting = Notice.objects.filter(words="").order_by("made_at", "pk")
        of_what = waiting.select_related("job", "ticket", "mark__operator", "person__notice_setting")
        batch = list(of_what.select_for_update(skip_locked=True, of=("self",))[:MOST_AT_ONCE])
        for notice in batch:
            about = _about(notice)
            notice.subject, notice.words = notice_subject(about), notice_words(about)
        Notice.objects.bulk_update(batch, ["subject", "words"])
        if settings.MAIL_SERVER is not None:
            may = {person: may_get_mail(person) for person in {notice.person for notice in batch}}
            alerts = [
                alert_of(notice, at)
                for notice in batch
                if may[notice.person] and _wants_alerts(notice.person)
            ]
            OutgoingMail.objects.bulk_create(alerts)
    return len(batch)


def _wants_alerts(person: AbstractBaseUser) -> bool:
    setting = getattr(person, "notice_setting", None)
    return setting is None or setting.alerts_by_mail


def _about(notice: Notice) -> NoticeSubject:
    return NoticeSubject(
        event=notice.event,
        job=notice.job.name,
        time_zone=notice.job.time_zone,
        due_at=notice.due_at,
        ticket=notice.ticket.number if notice.ticket else "",
        mark=str(notice.mark) if notice.mark else "",
        expires_at=notice.ticket.expires_at if notice.ticket else None,
    )
