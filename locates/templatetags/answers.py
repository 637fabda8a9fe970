"""What a page of many tickets shows of each one's answers."""

from collections.abc import Collection, Iterable, Mapping
from uuid import UUID

from django import template

from locates.contradictions import Contradiction
from locates.models import Response, Ticket

register = template.Library()


@register.filter
def on_ticket(contradictions: Mapping[UUID, list[Contradiction]], ticket: Ticket) -> list[Contradiction]:
    """Those of a page's contradictions that are about one of its tickets."""
    return contradictions.get(ticket.pk, [])


@register.filter
def that_count(responses: Iterable[Response], latest: Collection[UUID]) -> list[Response]:
    """Of a ticket's responses the latest of each operator."""
    return [response for response in responses if response.pk in latest]


@register.filter
def since_replaced(responses: Iterable[Response], latest: Collection[UUID]) -> list[Response]:
    """Of a ticket's responses those after which the same operator gave another."""
    return [response for response in responses if response.pk not in latest]
