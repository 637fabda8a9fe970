"""How a ticket stands and what it asks for, one ticket and one record at a time, slowly and in plain sight.

Written from the rules of the desk, not from the statement that it is held against.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from locates.models import Mark, Response, Ticket

FINAL = ("marked", "no_facilities")


@dataclass(frozen=True)
class Stands:
    """What is expected of one ticket."""

    state: str
    named: int
    awaited: int
    overdue: int
    matters: dict[str, datetime]


def stands(ticket: Ticket, at: datetime) -> Stands | None:
    """The standing of a ticket at a moment; None for one that nobody lists."""
    if ticket.retired_at is not None or ticket.job.retired_at is not None:
        return None
    answers = latest_answers(ticket)
    has_come = [one.responded_at is None or one.responded_at <= at for one in answers]
    awaited = sum(one.response not in FINAL or not come for one, come in zip(answers, has_come, strict=True))
    deadline = ticket.response_due_at or ticket.legal_start_at
    state = state_of(ticket, at)
    is_late = deadline is not None and deadline <= at
    # Nobody is late on a ticket that is over.
    overdue = awaited if is_late and state not in ("finished", "replaced") else 0
    return Stands(state, len(answers), awaited, overdue, matters_of(ticket, at, state, len(answers), overdue))


def latest_answers(ticket: Ticket) -> list[Response]:
    """The last live answer of every operator."""
    latest: dict[object, Response] = {}
    for response in sorted(ticket.responses.all(), key=lambda one: one.sequence):
        latest[response.operator_id] = response
    return list(latest.values())


def successors(ticket: Ticket) -> list[Ticket]:
    """Live tickets that were called in after it and name it."""
    return [
        one
        for one in Ticket.objects.filter(job=ticket.job_id)
        if one.previous_number == ticket.number and one.called_at > ticket.called_at
    ]


def state_of(ticket: Ticket, at: datetime) -> str:
    """The state, the first that fits."""
    if ticket.work_finished_at is not None:
        return "finished"
    for later in successors(ticket):
        if later.legal_start_at is not None and later.expires_at is not None and later.legal_start_at <= at:
            return "replaced"
    if ticket.expires_at is not None and at >= ticket.expires_at:
        return "expired"
    if None in (ticket.legal_start_at, ticket.expires_at):
        return "undated"
    return "in_force" if at >= ticket.legal_start_at else "not_started"


def matters_of(ticket: Ticket, at: datetime, state: str, named: int, overdue: int) -> dict[str, datetime]:
    """What it asks for, with the moment that each is about."""
    if state in ("finished", "replaced"):
        return {}
    if state == "expired":
        return {"expired": ticket.expires_at}
    lead = timedelta(hours=ticket.job.organisation.desk_lead_hours)
    found = {}
    if overdue:
        found["answer_overdue"] = ticket.response_due_at or ticket.legal_start_at
    if named == 0:
        found["name_operators"] = ticket.called_at
    gone = [mark for mark in Mark.objects.filter(ticket=ticket) if mark.is_intact is False]
    re_marks = [one for one in successors(ticket) if one.ticket_kind == "re_mark"]
    if gone and not re_marks:
        found["re_mark_asked"] = min(mark.edited_at or mark.marked_at for mark in gone)
    if state == "undated":
        found["enter_dates"] = ticket.called_at
        return found
    if state == "not_started" and at >= ticket.legal_start_at - lead:
        found["starts_soon"] = ticket.legal_start_at
    begin_by = ticket.latest_start_at
    if state == "in_force" and begin_by is not None and begin_by - lead <= at < begin_by:
        found["starts_soon"] = begin_by
    later = successors(ticket)
    if ticket.renew_by is not None and not later and at >= ticket.renew_by - lead:
        found["call_renewal"] = ticket.renew_by
    elif at >= ticket.expires_at - lead and not any(follows_on(one, ticket) for one in later):
        found["expires_soon"] = ticket.expires_at
    return found


def follows_on(later: Ticket, ticket: Ticket) -> bool:
    """Whether a later ticket is known to begin before this one ends, and to last longer."""
    return (
        later.legal_start_at is not None
        and later.expires_at is not None
        and later.legal_start_at <= ticket.expires_at < later.expires_at
    )
