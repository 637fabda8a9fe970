"""The dates of a ticket as a document for programs and as lines for people."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from locates.local_time import format_moment
from locates.one_call.clock import TicketDates
from locates.one_call.milestones import ComputedDate

TITLES = {
    "legal_start_at": "Legal start",
    "response_due_at": "Answers due",
    "latest_start_at": "Latest start",
    "renew_by": "Renew by",
    "expires_at": "Good until",
}


def dates_document(dates: TicketDates, time_zone: str) -> dict[str, Any]:
    """The dates as JSON-like values.

    Parameters
    ----------
    dates : TicketDates
        As computed.
    time_zone : str
        IANA name of the zone whose offset the moments carry.

    Returns
    -------
    dict
        Each date as an RFC 3339 moment or None, ``working`` with the sentence of each, ``silence``.
    """
    named = _named(dates)
    return {
        **{name: _moment(date.at, time_zone) for name, date in named.items()},
        "working": {name: date.working for name, date in named.items()},
        "silence": {"policy": dates.silence.policy, "words": dates.silence.words},
    }


def dates_lines(dates: TicketDates, time_zone: str) -> list[str]:
    """The dates as lines, each date with its sentence under it; as `dates_document` otherwise."""
    lines = []
    for name, date in _named(dates).items():
        when = "not known" if date.at is None else format_moment(date.at, time_zone)
        lines += [f"{TITLES[name] + ':':<14}{when}", f"    {date.working}"]
    policy = dates.silence.policy.replace("_", " ")
    return [*lines, f"{'Silence:':<14}{policy}", f"    {dates.silence.words}"]


def _named(dates: TicketDates) -> dict[str, ComputedDate]:
    return {name: getattr(dates, name) for name in TITLES}


def _moment(at: datetime | None, time_zone: str) -> str | None:
    return None if at is None else at.astimezone(ZoneInfo(time_zone)).isoformat()
