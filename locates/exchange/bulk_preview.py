"""The first tickets or responses of a file as they would be stored, in words for people."""

from collections.abc import Iterable
from datetime import datetime
from itertools import islice
from typing import NamedTuple
from uuid import UUID

from locates.exchange.vector_preview import MOST_SHOWN
from locates.local_time import format_moment
from locates.models import FacilityOperator, Job, Response, Ticket
from locates.ticket_dates import date_rows
from locates.units import UNKNOWN, format_length

MOST_TICKETS = 5  # each fills a third of a screen
LONGEST_SHOWN = 200


class Fact(NamedTuple):
    """One value with its words, and where it comes from where that is a question."""

    label: str
    value: str
    origin: str = ""


class ShownTicket(NamedTuple):
    """A ticket as it would be stored, and how each of its dates was worked out."""

    place: str
    number: str
    kind: str
    facts: list[Fact]
    workings: list[tuple[str, str]]


class ShownResponse(NamedTuple):
    """An answer as it would be stored."""

    place: str
    cells: list[Fact]


def shown_tickets(
    job: Job, tickets: Iterable[Ticket], told: dict[UUID, list[FacilityOperator]], places: Iterable[str]
) -> list[ShownTicket]:
    """The first tickets; ``told`` gives the operators of each."""
    first = islice(zip(tickets, places, strict=True), MOST_TICKETS)
    return [
        ShownTicket(
            place,
            ticket.number,
            ticket.get_ticket_kind_display(),
            _facts(job, ticket, told[ticket.pk]),
            [(row.label, row.working) for row in date_rows(ticket) if row.working],
        )
        for ticket, place in first
    ]


def shown_responses(job: Job, responses: Iterable[Response], places: Iterable[str]) -> list[ShownResponse]:
    """The first answers, in the order in which they enter the histories."""
    first = islice(zip(responses, places, strict=True), MOST_SHOWN)
    return [
        ShownResponse(
            place,
            [
                Fact("Ticket", one.ticket.number),
                Fact("Operator", one.operator.name),
                Fact("Answer", one.get_response_display()),
                Fact("Answered", _moment(job, one.responded_at) if one.responded_at else "not yet"),
                Fact("By", one.answered_by or UNKNOWN),
                Fact("Note", one.note[:LONGEST_SHOWN] or "none"),
            ],
        )
        for one, place in first
    ]


def _facts(job: Job, ticket: Ticket, told: list[FacilityOperator]) -> list[Fact]:
    corners = sum(len(ring) - 1 for polygon in ticket.area.coords for ring in polygon)
    longitude_deg, latitude_deg = ticket.area.coords[0][0][0]
    dates = []
    for row in date_rows(ticket):
        origin = "from the file" if row.computed_at is None else "worked out"
        if row.is_by_hand:
            origin = f"from the file; worked out was {_moment(job, row.computed_at)}"
        dates.append(Fact(row.label, _moment(job, row.at), "" if row.at is None else origin))
    return [
        Fact("Called in", _moment(job, ticket.called_at), ticket.called_by and f"by {ticket.called_by}"),
        Fact("Start wanted", _moment(job, ticket.wanted_start_at)),
        *dates,
        *([Fact("Why other dates", ticket.override_reason)] if ticket.override_reason else []),
        Fact("White lining", _yes_no(ticket.white_lined)),
        Fact("Boring declared", _yes_no(ticket.boring_declared)),
        Fact("Depth stated", format_length(ticket.stated_depth_m, job.show_units)),
        Fact("Method stated", ticket.stated_method or UNKNOWN),
        Fact("Renews or re-marks", ticket.previous_number or "no earlier ticket"),
        Fact("Operators notified", ", ".join(one.name for one in told) or "none named"),
        Fact("Work area", f"{corners} corners", f"from {latitude_deg:.6f}, {longitude_deg:.6f}"),
    ]


def _moment(job: Job, moment: datetime | None) -> str:
    return UNKNOWN if moment is None else format_moment(moment, job.time_zone)


def _yes_no(answer: bool | None) -> str:
    return UNKNOWN if answer is None else "yes" if answer else "no"
