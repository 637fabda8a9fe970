"""The tickets of a job and every answer on them, for a clearance record."""

from collections import defaultdict
from datetime import datetime
from uuid import UUID

from conflicts.record.sheet import RecordResponse, RecordTicket
from conflicts.ticket_check import is_in_force
from locates.models import Job, Response, Ticket


def read_tickets(job: Job, at: datetime) -> tuple[RecordTicket, ...]:
    """The tickets of a job by their numbers, each with the history of its answers; two queries."""
    tickets = list(Ticket.objects.filter(job=job).order_by("number"))
    answers: dict[UUID, list[Response]] = defaultdict(list)
    found = Response.objects.filter(ticket__in=tickets).select_related("operator")
    for one in found.order_by("ticket", "sequence"):
        answers[one.ticket_id].append(one)
    return tuple(_ticket(one, answers[one.pk], at) for one in tickets)


def _ticket(ticket: Ticket, answers: list[Response], at: datetime) -> RecordTicket:
    last = {one.operator_id: one.pk for one in answers}
    return RecordTicket(
        number=ticket.number,
        kind=ticket.get_ticket_kind_display(),
        called_at=ticket.called_at,
        legal_start_at=ticket.legal_start_at,
        response_due_at=ticket.response_due_at,
        expires_at=ticket.expires_at,
        boring_declared=ticket.boring_declared,
        override_reason=ticket.override_reason,
        is_in_force=is_in_force(ticket, at),
        responses=tuple(
            RecordResponse(
                operator=one.operator.name,
                answer=one.get_response_display(),
                responded_at=one.responded_at,
                answered_by=one.answered_by,
                note=one.note,
                counts=last[one.operator_id] == one.pk,
            )
            for one in answers
        ),
    )
