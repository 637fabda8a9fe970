"""Send the mail that waits: each row under its lock, until the server has taken it or refused it for good."""

import logging
from datetime import datetime, timedelta
from smtplib import SMTPDataError, SMTPException, SMTPNotSupportedError, SMTPRecipientsRefused

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.smtp import EmailBackend
from django.db import transaction
from django.utils import timezone

from locates.models import MailState, OutgoingMail

MOST_A_RUN = 200
PATIENCE_S = 20
FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(minutes=15)
# From here up the same mail is not to be tried again: RFC 5321, 4.2.1, permanent negative completion reply.
PERMANENT = 500

logger = logging.getLogger(__name__)


class _Outage(Exception):
    """The server cannot be reached or takes no mail at all; what comes after would meet the same."""


def send_waiting() -> int:
    """Send what is due, and give how many mails the server took; nothing where there is no server.

    Safe to run twice and at once. Whoever is killed after the server took a mail and before that is stored
    leaves it waiting: it goes once more, under the same ``Message-ID``.
    """
    if settings.MAIL_SERVER is None:
        return 0
    server = get_connection(
        "django.core.mail.backends.smtp.EmailBackend", timeout=PATIENCE_S, **settings.MAIL_SERVER
    )
    sent = 0
    try:
        for _ in range(MOST_A_RUN):
            state = _send_next(server)
            if state is None:
                break
            sent += state == MailState.SENT
    finally:
        _drop(server)
    return sent


def send_again(mail: OutgoingMail, *, at: datetime) -> bool:
    """Have a refused mail tried once more, because somebody says that what was wrong is mended."""
    refused = OutgoingMail.objects.filter(pk=mail.pk, state=MailState.REFUSED)
    return bool(refused.update(state=MailState.WAITING, next_attempt_at=at, attempts=0))


def _send_next(server: EmailBackend) -> MailState | None:
    """State of the mail whose turn it was; None where there is none, or no use in going on."""
    with transaction.atomic():
        now = timezone.now()
        mail = OutgoingMail.objects.take_one(now)
        if mail is None:
            return None
        mail.attempts += 1
        is_out = False
        try:
            _hand_over(server, mail)
        except _Outage as outage:
            is_out = True
            _delay(mail, now, str(outage))
        mail.save()
    return None if is_out else MailState(mail.state)


def _hand_over(server: EmailBackend, mail: OutgoingMail) -> None:
    try:
        server.open()
        server.send_messages([_message(mail)])
    except (SMTPRecipientsRefused, SMTPDataError) as error:
        _drop(server)
        code, words = _reply(error)
        if code < PERMANENT:
            _delay(mail, timezone.now(), f"{code} {words}")
        else:
            _refuse(mail, f"{code} {words}")
    except (SMTPNotSupportedError, ValueError) as error:  # an address or subject that mail cannot carry
        _drop(server)
        _refuse(mail, str(error))
    except OSError as error:  # every other fault of smtplib, and the network's own
        _drop(server)
        logger.warning("The mail server cannot be used (%s); what waits goes later.", error)
        raise _Outage(str(error)) from error
    else:
        mail.state, mail.sent_at, mail.last_error = MailState.SENT, timezone.now(), ""


def _message(mail: OutgoingMail) -> EmailMessage:
    # RFC 3834, 5: what no person wrote says so, and answering machines leave it alone.
    headers = {"Message-ID": mail.message_id, "Auto-Submitted": "auto-generated"}
    return EmailMessage(mail.subject, mail.body, settings.MAIL_FROM, [mail.to_address], headers=headers)


def _reply(error: SMTPException) -> tuple[int, str]:
    if isinstance(error, SMTPRecipientsRefused):
        [(code, words)] = error.recipients.values()
    else:
        code, words = error.smtp_code, error.smtp_error
    return code, words.decode(errors="replace") if isinstance(words, bytes) else str(words)


def _drop(server: EmailBackend) -> None:
    """Close the connection, whose state nobody knows after a fault; the next mail opens another."""
    try:
        server.close()
    except OSError as error:
        logger.info("The mail server did not say goodbye (%s).", error)


def _delay(mail: OutgoingMail, at: datetime, words: str) -> None:
    doublings = min(mail.attempts - 1, 10)  # past ten the longest wait is long reached
    mail.next_attempt_at = at + min(FIRST_WAIT * 2**doublings, LONGEST_WAIT)
    mail.last_error = words


def _refuse(mail: OutgoingMail, words: str) -> None:
    mail.state, mail.last_error = MailState.REFUSED, words
    logger.warning("Mail %s is not taken: %s", mail.pk, words)
