"""What the board's lists choose of what was reckoned, and a page of it that begins after a known row."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Exists, F, Model, OuterRef, Q, QuerySet

from locates.models.membership import organisation_of
from locates.models.response import Response
from locates.models.ticket_matter import TicketMatter
from locates.models.ticket_standing import TicketStanding


@dataclass(frozen=True)
class BoardFilters:
    """Who looks, which is shown the tickets of their own company alone, and for what; empty is everything."""

    viewer_id: int | None
    matter: str = ""
    state: str = ""
    kind: str = ""
    job: str = ""
    operator: str = ""
    jurisdiction: str = ""
    until: datetime | None = None
    text: str = ""


MATTER_ORDERS = {
    "due": ("due_at", "id"),
    "due_last": ("-due_at", "-id"),
    "job": ("job__name", "due_at", "id"),
    "number": ("ticket__number", "id"),
}
TICKET_ORDERS = {
    "called_last": ("-called_at", "-ticket_id"),
    "called_first": ("called_at", "ticket_id"),
    "job": ("job__name", "called_at", "ticket_id"),
    "number": ("ticket__number", "ticket_id"),
}

# All that a row shows; areas and texts of rules are left where they are.
_SHOWN = (
    "ticket__number",
    "ticket__ticket_kind",
    "ticket__previous_number",
    "ticket__called_at",
    "ticket__response_due_at",
    "ticket__legal_start_at",
    "ticket__latest_start_at",
    "ticket__renew_by",
    "ticket__expires_at",
    "job__name",
    "job__time_zone",
)


def matters_of(filters: BoardFilters) -> QuerySet[TicketMatter]:
    """The matters that fit, each with its ticket, job and standing."""
    found = TicketMatter.objects.select_related("ticket__standing", "job").only(
        "matter", "due_at", "ticket__standing", *_SHOWN
    )
    if filters.matter:
        found = found.filter(matter=filters.matter)
    if filters.state:
        found = found.filter(ticket__standing__state=filters.state)
    if filters.until is not None:
        found = found.filter(due_at__lte=filters.until)
    return _narrowed(found, filters)


def standings_of(filters: BoardFilters) -> QuerySet[TicketStanding]:
    """The tickets that fit, as they stand, each with its job."""
    found = TicketStanding.objects.select_related("ticket", "job").only(
        "state", "named_count", "awaited_count", "overdue_count", "changes_at", "called_at", *_SHOWN
    )
    if filters.matter:
        asked = TicketMatter.objects.filter(ticket=OuterRef("pk"), matter=filters.matter)
        found = found.filter(Exists(asked))
    if filters.state:
        found = found.filter(state=filters.state)
    if filters.until is not None:
        found = found.filter(ticket__expires_at__lte=filters.until)
    return _narrowed(found, filters)


def page_after(
    chosen: QuerySet[Any], order: tuple[str, ...], last: tuple[Any, ...] | None, most: int
) -> QuerySet[Any]:
    """The first rows in an order, or those after a row whose values in that order are given."""
    if last is not None:
        chosen = chosen.filter(_comes_after(order, last))
    return chosen.order_by(*order)[:most]


def place_in(order: tuple[str, ...], row: Model) -> tuple[Any, ...]:
    """The values of a row in an order."""
    values = []
    for name in order:
        value: Any = row
        for step in name.lstrip("-").split("__"):
            value = getattr(value, step)
        values.append(value)
    return tuple(values)


def _comes_after(order: tuple[str, ...], last: tuple[Any, ...]) -> Q:
    """Rows past a place; the bound on the first column is what an index begins at."""
    lookup = "lt" if order[0].startswith("-") else "gt"
    names = [name.lstrip("-") for name in order]
    past = Q()
    for place, name in enumerate(names):
        same = dict(zip(names[:place], last[:place], strict=True))
        past |= Q(**same, **{f"{name}__{lookup}": last[place]})
    return Q(**{f"{names[0]}__{lookup}e": last[0]}) & past


def _narrowed(found: QuerySet[Any], filters: BoardFilters) -> QuerySet[Any]:
    found = found.filter(organisation_id=organisation_of(filters.viewer_id))
    if filters.kind:
        found = found.filter(ticket__ticket_kind=filters.kind)
    if filters.job:
        found = found.filter(job__name__icontains=filters.job)
    if filters.jurisdiction:
        found = found.filter(job__jurisdiction__code=filters.jurisdiction)
    if filters.operator:
        found = found.filter(_names_operator(filters.operator))
    for word in filters.text.split():
        found = found.filter(
            Q(ticket__number__icontains=word) | Q(job__name__icontains=word) | _names_operator(word)
        )
    return found.annotate(jurisdiction=F("job__jurisdiction__code"))


def _names_operator(words: str) -> Q:
    """Tickets on which an operator of such a name is logged."""
    logged = Response.objects.filter(ticket=OuterRef("ticket_id"), operator__name__icontains=words)
    return Q(Exists(logged))
