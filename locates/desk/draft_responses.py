"""Responses of the rows of a table: as they would be stored, and all that is wrong with them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from django.db.models import Max

from locates.answers import untimely_words
from locates.exchange.bulk_cells import Line, Reading, operators_by_name, read_lines
from locates.exchange.bulk_kinds import BULK_KINDS, column_named
from locates.exchange.vector_errors import RowError
from locates.exchange.vector_mapping import Mapping
from locates.exchange.vector_table import Table
from locates.local_time import format_moment
from locates.models import ImportKind, Job, Response, ResponseKind, Ticket

KIND = BULK_KINDS[ImportKind.RESPONSE]
_BEFORE_ALL = datetime.min.replace(tzinfo=UTC)

Pair = tuple[Any, Any]
"""Ids of a ticket and of an operator: whose history it is."""


@dataclass
class DraftResponses:
    """What a table would add: unsaved records in the order of their histories, their rows, and the errors."""

    records: list[Response] = field(default_factory=list)
    places: list[str] = field(default_factory=list)
    errors: list[RowError] = field(default_factory=list)


def draft_responses(job: Job, table: Table, mapping: Mapping, *, at: datetime) -> DraftResponses:
    """The answers that the rows of a table would put at the ends of the histories of a job's tickets.

    The last answer counts, so those of one operator on one ticket are put in the order of their times, and
    one that is no later than an answer which is there is refused.
    """
    operators = operators_by_name(list(job.operators.order_by("name")))
    lines, errors = read_lines(table, Reading(KIND, mapping, job.time_zone, operators))
    tickets = {
        ticket.number: ticket
        for ticket in Ticket.objects.filter(
            job=job, number__in={line.values["ticket_number"] for line in lines}
        ).defer("area", "computed_dates")
    }
    on_them = Response.objects.filter(ticket__in=[ticket.pk for ticket in tickets.values()])
    history = list(on_them.order_by("sequence"))
    known = {_answer(one) for one in history}
    last = _last_answers(history)
    timely: list[tuple[Line, Ticket]] = []
    for line in lines:
        ticket = tickets.get(line.values["ticket_number"])
        if ticket is None:
            found = f"{line.values['ticket_number'][:60]}, which is not logged on this job"
            errors.append(_error(line, "ticket_number", mapping, found, "the number of a ticket of the job"))
            continue
        words = _untimely(line, ticket, at)
        if words:
            errors.append(_error(line, "responded_at", mapping, _found(line, job), words))
        else:
            timely.append((line, ticket))
    # Python sorts stably: rows of one time keep the order of the file, and are refused as such.
    timely.sort(key=lambda one: one[0].values.get("responded_at", _BEFORE_ALL))
    draft = DraftResponses(errors=errors)
    next_place = _next_places(tickets.values())
    for line, ticket in timely:
        pair = (ticket.pk, line.values["operator"].pk)
        response = Response(ticket=ticket, sequence=next_place[ticket.pk], **_own(line))
        if _answer(response) in known:
            found = f"{response.get_response_display()}, which is there already"
            errors.append(_error(line, "response", mapping, found, "an answer that is not logged yet"))
        else:
            errors += _not_later(line, last.get(pair), job, mapping)
        known.add(_answer(response))
        next_place[ticket.pk] += 1
        last[pair] = response
        draft.records.append(response)
        draft.places.append(line.place)
    order = {f"{table.row_word} {row.number}": row.number for row in table.rows}
    errors.sort(key=lambda error: order[error.place])
    return draft


def _own(line: Line) -> dict[str, Any]:
    return {name: value for name, value in line.values.items() if name != "ticket_number"}


def _untimely(line: Line, ticket: Ticket, at: datetime) -> str:
    response, answered_at = line.values["response"], line.values.get("responded_at")
    if answered_at is None and response != ResponseKind.AWAITING:
        return "the day and time at which the operator answered"
    return untimely_words(response, answered_at, ticket.called_at, at)


def _not_later(line: Line, before: Response | None, job: Job, mapping: Mapping) -> Iterable[RowError]:
    """Refuse an answer that would count though a later one is there."""
    if before is None:
        return
    answered_at = line.values.get("responded_at")
    said = before.get_response_display()
    when = format_moment(before.responded_at, job.time_zone) if before.responded_at else "without a time"
    if answered_at is None:
        accepted = f"nobody is awaited that has answered already ({said}, {when})"
        yield _error(line, "response", mapping, "awaiting", accepted)
    elif before.responded_at is not None and answered_at <= before.responded_at:
        accepted = f"a time after that of the answer before it, {said}, {when}"
        yield _error(line, "responded_at", mapping, _found(line, job), accepted)


def _last_answers(history: Iterable[Response]) -> dict[Pair, Response]:
    """The latest answer of each operator on each ticket: what is new must be later, so that it counts."""
    last: dict[Pair, Response] = {}
    for response in history:
        pair = (response.ticket_id, response.operator_id)
        before = last.get(pair)
        if before is None or _time(response) >= _time(before):
            last[pair] = response
    return last


def _answer(response: Response) -> tuple[Any, ...]:
    return (response.ticket_id, response.operator_id, response.response, response.responded_at)


def _time(response: Response) -> datetime:
    return response.responded_at or _BEFORE_ALL


def _next_places(tickets: Iterable[Ticket]) -> dict[Any, int]:
    """The place after the last of each ticket's history; a retired answer keeps its place."""
    found = Response.with_retired.filter(ticket__in=[ticket.pk for ticket in tickets])
    last = found.order_by().values_list("ticket").annotate(last=Max("sequence"))
    return defaultdict(int, {ticket: place + 1 for ticket, place in last})


def _found(line: Line, job: Job) -> str:
    answered_at = line.values.get("responded_at")
    return "nothing" if answered_at is None else format_moment(answered_at, job.time_zone)


def _error(line: Line, name: str, mapping: Mapping, found: str, accepted: str) -> RowError:
    return RowError(line.place, column_named(mapping, KIND, name), found, accepted)
