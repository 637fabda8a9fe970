"""What the board says of a ticket, and the one step that settles it."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from locates.local_time import format_moment
from locates.models import Ticket, TicketMatter, TicketMatterKind, TicketStanding, TicketState

NAMED_AT_MOST = 3


class Step(StrEnum):
    """What a person can do about a matter."""

    ANSWER = "answer"
    OPERATORS = "operators"
    DATES = "dates"
    RENEW = "renew"
    RE_MARK = "re_mark"
    LATER_TICKET = "later_ticket"
    LOOK = "look"


@dataclass(frozen=True)
class Beside:
    """What else is known of a ticket: who owes an answer, what follows it, which marks are gone."""

    owing: Sequence[str] = ()
    later: Ticket | None = None
    gone: Sequence[str] = ()


def sentence_of(matter: TicketMatter, beside: Beside) -> str:
    """One sentence for the person who settles it."""
    ticket, zone = matter.ticket, matter.job.time_zone
    match matter.matter:
        case TicketMatterKind.ANSWER_OVERDUE:
            known = (
                "" if ticket.response_due_at else " The deadline is not known, and the legal start has come."
            )
            return f"{_listed(beside.owing)} gave no final answer: call.{known}"
        case TicketMatterKind.ENTER_DATES:
            missing = [
                words
                for words, moment in (("legal start", ticket.legal_start_at), ("expiry", ticket.expires_at))
                if moment is None
            ]
            return (
                f"No known {' and no '.join(missing)}: ask the centre and enter it. Not in force until then."
            )
        case TicketMatterKind.NAME_OPERATORS:
            return "No operator is logged on it: ask the centre who was notified, and log each."
        case TicketMatterKind.STARTS_SOON:
            return _starts(matter, beside)
        case TicketMatterKind.CALL_RENEWAL:
            return f"Call the renewal in; the ticket expires {format_moment(ticket.expires_at, zone)}."
        case TicketMatterKind.RE_MARK_ASKED:
            return f"{_listed(beside.gone)} reported gone: have it marked again."
    return _runs_out(matter, beside)


def _starts(matter: TicketMatter, beside: Beside) -> str:
    standing = matter.ticket.standing
    begins = "The legal start is near" if standing.state == TicketState.NOT_STARTED else "Work must begin"
    if beside.owing:
        return f"{begins}; {_listed(beside.owing)} gave no final answer yet."
    if not standing.named_count:
        return f"{begins}; no operator is logged on it."
    return f"{begins}; no answer is awaited. Hold the answers against the marks."


def _runs_out(matter: TicketMatter, beside: Beside) -> str:
    is_past = matter.matter == TicketMatterKind.EXPIRED
    later, zone = beside.later, matter.job.time_zone
    if later is None:
        return (
            "It has run out: nobody digs on it. Renew it, or say that its work is over."
            if is_past
            else "It runs out: renew it while it is in force, or say that its work is over."
        )
    if later.legal_start_at is None or later.expires_at is None:
        return f"{later.number} follows it, with a date that is not known: enter it."
    begins = format_moment(later.legal_start_at, zone)
    return (
        f"{later.number} follows it and begins {begins}: {'nobody digs until then' if is_past else 'a gap'}."
    )


def step_of(matter: TicketMatter, beside: Beside) -> Step:
    """The one step that settles it."""
    match matter.matter:
        case TicketMatterKind.ANSWER_OVERDUE:
            return Step.ANSWER
        case TicketMatterKind.ENTER_DATES:
            return Step.DATES
        case TicketMatterKind.NAME_OPERATORS:
            return Step.OPERATORS
        case TicketMatterKind.RE_MARK_ASKED:
            return Step.RE_MARK
        case TicketMatterKind.STARTS_SOON:
            return Step.ANSWER if beside.owing else Step.LOOK
    return Step.RENEW if beside.later is None else Step.LATER_TICKET


def answers_in_words(standing: TicketStanding) -> str:
    """How many answers a ticket waits for."""
    if not standing.named_count:
        return "no operator logged"
    if not standing.awaited_count:
        return "none awaited"
    late = f", {standing.overdue_count} overdue" if standing.overdue_count else ""
    return f"{standing.awaited_count} awaited{late}"


def _listed(names: Sequence[str]) -> str:
    shown = list(names[:NAMED_AT_MOST])
    if len(names) > NAMED_AT_MOST:
        shown.append(f"{len(names) - NAMED_AT_MOST} more")
    if not shown:
        return "Somebody"  # answered since the row was reckoned: the next reckoning takes it away
    *first, last = shown
    return f"{', '.join(first)} and {last}" if first else last
