"""A page of the ticket desk's board, read in a fixed number of queries however many tickets there are."""

import base64
import binascii
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import F

from locates.answers import FINAL_RESPONSES
from locates.board_words import Beside, Step, answers_in_words, sentence_of, step_of
from locates.errors import PlaceInListError
from locates.models import Mark, Response, Ticket, TicketMatter, TicketMatterKind, TicketStanding
from locates.models.board_queries import (
    MATTER_ORDERS,
    TICKET_ORDERS,
    BoardFilters,
    matters_of,
    page_after,
    place_in,
    standings_of,
)

ROWS_A_PAGE = 50
# Beat sweeps every half minute; a sweep after a night takes longer.
BEHIND_AFTER = timedelta(minutes=5)

ASKS_WHO_OWES = (TicketMatterKind.ANSWER_OVERDUE, TicketMatterKind.STARTS_SOON)
ASKS_WHAT_FOLLOWS = (TicketMatterKind.EXPIRED, TicketMatterKind.EXPIRES_SOON)


@dataclass(frozen=True)
class MatterRow:
    """One thing to do, in words, with the step that settles it and the ticket that the step is about."""

    matter: TicketMatter
    sentence: str
    step: Step
    step_ticket: UUID
    is_overdue: bool
    may_be_over: bool


@dataclass(frozen=True)
class TicketRow:
    """One ticket as it stands."""

    standing: TicketStanding
    answers: str


@dataclass(frozen=True)
class BoardPage:
    """Rows, where the next page begins, and since when the lists are behind the clock, if they are."""

    rows: list[Any]
    next_place: str
    behind_since: datetime | None


def read_matters(filters: BoardFilters, order: str, after: str, at: datetime) -> BoardPage:
    """A page of what must be done.

    Raises `PlaceInListError` where ``after`` is no place in this order.
    """
    columns = MATTER_ORDERS[order]
    found, next_place = _page(matters_of(filters), columns, after)
    beside = _beside(found, at)
    rows = []
    for matter in found:
        known = beside[matter.ticket_id]
        step = step_of(matter, known)
        about = known.later.pk if step is Step.LATER_TICKET and known.later else matter.ticket_id
        may_be_over = matter.matter in ASKS_WHAT_FOLLOWS and known.later is None
        rows.append(
            MatterRow(matter, sentence_of(matter, known), step, about, matter.due_at <= at, may_be_over)
        )
    return BoardPage(rows, next_place, _behind_since(at))


def read_tickets(filters: BoardFilters, order: str, after: str, at: datetime) -> BoardPage:
    """A page of all tickets as they stand; errors as `read_matters`."""
    found, next_place = _page(standings_of(filters), TICKET_ORDERS[order], after)
    rows = [TicketRow(standing, answers_in_words(standing)) for standing in found]
    return BoardPage(rows, next_place, _behind_since(at))


def _page(chosen: Any, order: tuple[str, ...], after: str) -> tuple[list[Any], str]:
    rows = list(page_after(chosen, order, _place(after, order), ROWS_A_PAGE + 1))
    if len(rows) <= ROWS_A_PAGE:
        return rows, ""
    rows = rows[:ROWS_A_PAGE]
    return rows, _written(place_in(order, rows[-1]))


def _written(place: tuple[Any, ...]) -> str:
    values = [one.isoformat() if isinstance(one, datetime) else str(one) for one in place]
    return base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")


def _place(text: str, order: tuple[str, ...]) -> tuple[Any, ...] | None:
    """The values that `_written` wrote, each as its column has it."""
    if not text:
        return None
    try:
        padded = text.encode() + b"=" * (-len(text) % 4)
        values = json.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
        return tuple(_value(name, value) for name, value in zip(order, values, strict=True))
    except (binascii.Error, ValueError, TypeError, OverflowError, RecursionError) as error:
        raise PlaceInListError(text) from error


def _value(name: str, value: str) -> Any:
    if not isinstance(value, str):
        raise TypeError
    match name.lstrip("-").rpartition("_")[2]:
        case "at":
            moment = datetime.fromisoformat(value)
            if moment.tzinfo is None:
                raise ValueError
            return moment
        case "id":
            # A matter's key is a number, a ticket's a UUID.
            return UUID(value) if "ticket" in name else _key(value)
    if "\x00" in value:
        raise ValueError
    return value


def _key(value: str) -> int:
    number = int(value)
    if not 0 <= number < 2**63:
        raise ValueError
    return number


def _behind_since(at: datetime) -> datetime | None:
    late = TicketStanding.objects.due(at - BEHIND_AFTER).order_by("changes_at")
    return late.values_list("changes_at", flat=True).first()


def _beside(matters: Iterable[TicketMatter], at: datetime) -> dict[UUID, Beside]:
    """What else is known of the tickets of a page, in three queries."""
    tickets = {matter.ticket_id: matter.ticket for matter in matters}
    asked = defaultdict(set)
    for matter in matters:
        asked[matter.matter].add(matter.ticket_id)
    owing = _owing(set().union(*(asked[kind] for kind in ASKS_WHO_OWES)), at)
    following = [tickets[key] for kind in ASKS_WHAT_FOLLOWS for key in asked[kind]]
    later = _later(following, {matter.ticket_id: matter.job_id for matter in matters})
    gone = _gone(asked[TicketMatterKind.RE_MARK_ASKED])
    return {key: Beside(owing.get(key, ()), later.get(key), gone.get(key, ())) for key in tickets}


def _owing(ticket_ids: set[UUID], at: datetime) -> dict[UUID, list[str]]:
    """Names of the operators without a final answer that has come, by ticket."""
    names = defaultdict(list)
    latest = Response.objects.filter(ticket__in=ticket_ids).latest_each()
    columns = ("ticket", "response", "responded_at", "operator__name")
    for ticket_id, response, answered_at, name in latest.values_list(*columns):
        if response not in FINAL_RESPONSES or (answered_at is not None and answered_at > at):
            names[ticket_id].append(name)
    return {key: sorted(found) for key, found in names.items()}


def _later(tickets: list[Ticket], jobs: dict[UUID, UUID]) -> dict[UUID, Ticket]:
    """The last ticket that renews or re-marks each, where there is one."""
    followers = defaultdict(list)
    named = Ticket.objects.filter(
        job__in={jobs[one.pk] for one in tickets}, previous_number__in={one.number for one in tickets}
    )
    for one in named.exclude(previous_number="").order_by("called_at").defer("area", "computed_dates"):
        followers[one.job_id, one.previous_number].append(one)
    found = {}
    for ticket in tickets:
        after = [one for one in followers[jobs[ticket.pk], ticket.number] if one.called_at > ticket.called_at]
        if after:
            found[ticket.pk] = after[-1]
    return found


def _gone(ticket_ids: set[UUID]) -> dict[UUID, list[str]]:
    """References of the marks that are reported gone, by ticket."""
    references = defaultdict(list)
    marks = Mark.objects.filter(ticket__in=ticket_ids, is_intact=False).order_by("ref")
    for ticket_id, ref in marks.values_list(F("ticket"), "ref"):
        references[ticket_id].append(ref)
    return dict(references)
