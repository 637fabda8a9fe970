"""The words of a notice, the same on the site and in the mail. Pure."""

from dataclasses import dataclass
from datetime import datetime

from locates.local_time import format_moment

LONGEST_SUBJECT = 300

CAUTION = (
    "Nothing here is a release to drill. The law of the place, the facility operators and licensed practice "
    "decide; call before you dig."
)
"""Stands under every mail."""


@dataclass(frozen=True, slots=True)
class NoticeSubject:
    """What a notice is of.

    Parameters
    ----------
    event : str
        One of `locates.models.NoticeEvent`.
    job : str
        Name of the job.
    time_zone : str
        IANA name, the job's.
    due_at : datetime
        Moment at which it fell, or falls, due; with an offset.
    ticket : str
        Number of the ticket; empty where a mark has none.
    mark : str
        Reference, type and operator of the mark; empty where the notice is of a ticket.
    expires_at : datetime or None
        Expiry of the ticket.
    """

    event: str
    job: str
    time_zone: str
    due_at: datetime
    ticket: str = ""
    mark: str = ""
    expires_at: datetime | None = None


def notice_subject(about: NoticeSubject) -> str:
    """One line that names the thing, the job and what came to pass.

    Parameters
    ----------
    about : NoticeSubject
        What the notice is of.

    Returns
    -------
    str
        Without line breaks, at most `LONGEST_SUBJECT` characters.

    Raises
    ------
    KeyError
        An event that has no words.
    """
    thing = f"Mark {about.mark}" if about.mark else f"Ticket {about.ticket}"
    words = {
        "answer_overdue": "answer overdue",
        "starts_unanswered": "start reached with answers missing",
        "renewal_due": "renew today",
        "expires_soon": "expires soon",
        "expired": "expired",
        "mark_gone": "reported gone",
    }[about.event]
    line = " ".join(f"{thing}: {words} ({about.job})".split())
    return line if len(line) <= LONGEST_SUBJECT else f"{line[: LONGEST_SUBJECT - 1]}\N{HORIZONTAL ELLIPSIS}"


def notice_words(about: NoticeSubject) -> str:
    """What came to pass and what to do, with times in the job's zone.

    Parameters
    ----------
    about : NoticeSubject
        What the notice is of.

    Returns
    -------
    str
        One or two sentences.

    Raises
    ------
    KeyError
        An event that has no words.
    """
    due = format_moment(about.due_at, about.time_zone)
    expiry = format_moment(about.expires_at, about.time_zone) if about.expires_at else ""
    runs_out = f" It expires {expiry}." if expiry else " When it expires is not known."
    asked = f", made under ticket {about.ticket}," if about.ticket else ""
    return {
        "answer_overdue": (
            f"Not every operator on ticket {about.ticket} had answered by the deadline, {due}. An operator "
            "that has not answered is never a yes: call the one-call centre, and do not dig."
        ),
        "starts_unanswered": (
            f"The legal start of ticket {about.ticket}, {due}, is reached, and not every operator has given "
            "a final answer. Do not dig until each of them has."
        ),
        "renewal_due": (
            f"Ticket {about.ticket} is to be renewed today: renew it by {due}, or say that its work is "
            f"finished.{runs_out}"
        ),
        "expires_soon": (
            f"Ticket {about.ticket} expires {due}. Renew it in time, or have the work finished and the pits "
            "closed before."
        ),
        "expired": (
            f"Ticket {about.ticket} expired {due}. Stop digging in its work area until another ticket in "
            "force covers it."
        ),
        "mark_gone": (
            f"Mark {about.mark}{asked} is reported gone. Ask for a re-mark and keep off the line until it is "
            f"painted again; it was last painted {due}."
        ),
    }[about.event]
