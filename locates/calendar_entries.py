"""The dates of tickets as entries of a calendar. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from uuid import UUID
from zoneinfo import ZoneInfo

from locates.local_time import format_clock, format_moment


class DateKind(StrEnum):
    """The dates of a ticket, by the names of its fields."""

    ANSWERS_DUE = "response_due_at"
    LEGAL_START = "legal_start_at"
    LATEST_START = "latest_start_at"
    RENEW_BY = "renew_by"
    EXPIRES = "expires_at"


TITLES = {
    DateKind.ANSWERS_DUE: "Answers due",
    DateKind.LEGAL_START: "Legal start",
    DateKind.LATEST_START: "Latest start",
    DateKind.RENEW_BY: "Renew by",
    DateKind.EXPIRES: "Expires",
}

SETTLED = {"finished": "work finished", "replaced": "renewed or re-marked"}
"""States of a ticket in which its dates ask nothing of anybody."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One date of one ticket.

    Parameters
    ----------
    kind : DateKind
        Which of its dates.
    at : datetime
        The moment, with an offset.
    ticket_id, job_id : UUID
        Whose it is.
    number, job : str
        As people know them.
    time_zone : str
        IANA name, the job's.
    version : int
        Of the ticket; grows with every save.
    revised_at : datetime
        When the ticket was last saved or retired.
    state : str
        How the ticket stands: one of `locates.models.TicketState`, or empty where that is not reckoned yet.
    awaited_count : int or None
        Operators without a final answer.
    is_retired : bool
        Whether somebody has retired the ticket.
    """

    kind: DateKind
    at: datetime
    ticket_id: UUID
    job_id: UUID
    number: str
    job: str
    time_zone: str
    version: int
    revised_at: datetime
    state: str = ""
    awaited_count: int | None = None
    is_retired: bool = False

    @property
    def day(self) -> date:
        """The day that it falls on where the job is."""
        return self.at.astimezone(ZoneInfo(self.time_zone)).date()

    @property
    def title(self) -> str:
        """What the date is."""
        return TITLES[self.kind]

    @property
    def clock(self) -> str:
        """Clock time where the job is."""
        return format_clock(self.at, self.time_zone)

    @property
    def moment(self) -> str:
        """Day and clock time where the job is."""
        return format_moment(self.at, self.time_zone)

    @property
    def note(self) -> str:
        """What takes from the date its weight or adds to it; empty where there is nothing to say."""
        if self.state in SETTLED:
            return SETTLED[self.state]
        if self.kind in (DateKind.ANSWERS_DUE, DateKind.LEGAL_START) and self.awaited_count:
            return f"{self.awaited_count} not answered"
        return ""


def by_day(entries: Iterable[Entry]) -> dict[date, list[Entry]]:
    """Entries under the days that they fall on, in order.

    Parameters
    ----------
    entries : iterable of Entry
        In any order.

    Returns
    -------
    dict of date to list of Entry
        Days in order; within a day by moment, kind and number.
    """
    found: dict[date, list[Entry]] = {}
    for entry in sorted(entries, key=lambda one: (one.day, one.at, one.kind, one.number)):
        found.setdefault(entry.day, []).append(entry)
    return found
