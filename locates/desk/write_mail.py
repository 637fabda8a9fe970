"""Write the mail that goes out: the alert of a notice, and a person's digest of a day."""

from datetime import date, datetime
from uuid import uuid4

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.template.loader import render_to_string
from django.urls import reverse

from locates.models import MailKind, Notice, OutgoingMail, TicketMatter
from locates.notice_words import CAUTION


def may_get_mail(person: AbstractBaseUser) -> bool:
    """Whether a person has an address that mail can go to and may still look at tickets."""
    try:
        validate_email(person.email)
    except ValidationError:
        return False
    return person.is_active and person.has_perm("locates.view_ticket")


def alert_of(notice: Notice, at: datetime) -> OutgoingMail:
    """The mail of one notice, in the same words."""
    context = {"notice": notice, "address": site_address(place_of(notice)), "caution": CAUTION, **_places()}
    body = render_to_string("locates/mail/alert.txt", context)
    mail = _mail(notice.person, MailKind.ALERT, notice.subject, body, at)
    mail.notice = notice
    return mail


def digest_of(
    person: AbstractBaseUser,
    day: date,
    matters: list[TicketMatter],
    notices: list[Notice],
    left_out: int,
    at: datetime,
) -> OutgoingMail:
    """The mail of one day: what asks for somebody now, and what the person was told since the last one."""
    day_words = f"{day:%a %b} {day.day}, {day.year}"
    context = {
        "day": day_words,
        "matters": matters,
        "notices": notices,
        "left_out": left_out,
        "caution": CAUTION,
        **_places(),
    }
    count = len(matters) + left_out
    subject = f"Tickets that you follow, {day_words}: {count or 'nothing'} to do"
    mail = _mail(person, MailKind.DIGEST, subject, render_to_string("locates/mail/digest.txt", context), at)
    mail.digest_on = day
    return mail


def place_of(notice: Notice) -> str:
    """Where on the site a person settles what a notice is of."""
    if notice.mark_id is None and notice.ticket_id is not None:
        return reverse("locates:ticket", args=[notice.ticket_id])
    return f"{reverse('conflicts:job', args=[notice.job_id])}#marks"


def site_address(place: str) -> str:
    """An address of this site in full, or nothing where nobody has said where the site is."""
    return f"{settings.SITE_ADDRESS}{place}" if settings.SITE_ADDRESS else ""


def _places() -> dict[str, str]:
    return {
        "notices_address": site_address(reverse("locates:notices")),
        "settings_address": site_address(reverse("locates:notice-settings")),
    }


def _mail(person: AbstractBaseUser, kind: MailKind, subject: str, body: str, at: datetime) -> OutgoingMail:
    key = uuid4()
    domain = settings.MAIL_FROM.rpartition("@")[2]
    return OutgoingMail(
        pk=key,
        person=person,
        kind=kind,
        to_address=person.email,
        subject=subject,
        body=body,
        message_id=f"<{key}@{domain}>",
        next_attempt_at=at,
    )
