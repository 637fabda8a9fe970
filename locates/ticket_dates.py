"""The dates of a ticket as a page shows them: what counts, what was worked out, and what is to be asked."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from locates.models import CentreDay, JurisdictionRule, Ticket

DATES = {
    "response_due_at": (
        "Answers due",
        "Ask the one-call centre by when the operators must answer, and enter it.",
    ),
    "legal_start_at": (
        "Legal start",
        "Ask the one-call centre from when digging is lawful, and enter it: until then the ticket is not in "
        "force.",
    ),
    "latest_start_at": (
        "Latest start",
        "Ask the one-call centre whether the work must begin by a certain day, and enter it.",
    ),
    "renew_by": ("Renew by", "Ask the one-call centre by when a renewal must be called in, and enter it."),
    "expires_at": (
        "Expires",
        "Ask the one-call centre when the ticket ends, and enter it: until then it is not in force.",
    ),
}
"""Column, its name on a page, and what a person is asked to find out where it is unknown."""


@dataclass(frozen=True, slots=True)
class DateRow:
    """One date of a ticket: what counts, what was worked out when it was logged, and how."""

    name: str
    label: str
    at: datetime | None
    computed_at: datetime | None
    working: str
    ask: str

    @property
    def is_by_hand(self) -> bool:
        """Whether a person set another date than was worked out."""
        return self.computed_at is not None and self.at != self.computed_at


def date_rows(ticket: Ticket) -> list[DateRow]:
    """The five dates of a ticket, in the order in which they come about."""
    return [
        DateRow(
            name=name,
            label=label,
            at=getattr(ticket, name),
            computed_at=computed_at(ticket.computed_dates, name),
            working=ticket.computed_dates.get(name, {}).get("working", ""),
            ask=ask,
        )
        for name, (label, ask) in DATES.items()
    ]


def computed_at(computed_dates: Mapping[str, Any], name: str) -> datetime | None:
    """A date as it was worked out when a ticket was logged; None where it was not."""
    text = computed_dates.get(name, {}).get("at")
    return None if text is None else datetime.fromisoformat(text)


def is_to_review(ticket: Ticket, newest: JurisdictionRule | None) -> bool:
    """Whether a ticket's dates rest on another version of the rule that nobody has held them against."""
    if newest is None or ticket.dates_rule_id is None:
        return False
    return newest.pk not in (ticket.dates_rule_id, ticket.reviewed_rule_id)


def changed_day_of(ticket: Ticket) -> CentreDay | None:
    """The day of the centre's own that has changed since a ticket was dated, where nobody has looked yet."""
    review = getattr(ticket, "day_review", None)
    return None if review is None else review.centre_day
