"""What a page of many tickets shows of each one's answers."""

from collections.abc import Mapping
from uuid import UUID

from django import template

from locates.contradictions import Contradiction
from locates.models import Ticket

register = template.Library()


@register.filter
def on_ticket(contradictions: Mapping[UUID, list[Contradiction]], ticket: Ticket) -> list[Contradiction]:
    """Those of a page's contradictions that are about one of its tickets."""
    return contradictions.get(ticket.pk, [])
