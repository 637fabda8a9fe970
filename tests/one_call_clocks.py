"""Clocks put together for a test, in the JSON that the program reads."""

from copy import deepcopy
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from locates.one_call.clock import Call, TicketDates, ticket_dates
from locates.one_call.clock_reader import read_clock

EASTERN = "America/New_York"
SURE = {"is_sure": True, "citation": "Invented Code 1"}
UNSURE = {"is_sure": False, "citation": "Invented Code 2", "doubt": "two readings differ"}
FEDERAL = {"state": "VA", "lists": ["federal"], "saturday": "friday", "sunday": "monday", **SURE}
TWO_FULL_DAYS = {"term": {"count": 2, "unit": "full business days"}, **SURE}
TEXAN_SATURDAY = {
    "called_on": "saturday",
    "starts_on": "tuesday",
    "at": "11:59",
    "holiday": "monday",
    "starts_on_then": "wednesday",
}


def clock_json(**parts: Any) -> dict[str, Any]:
    """A clock of federal holidays and two full business days' notice, or the parts given."""
    working_days = {"holidays": FEDERAL | parts.pop("holidays", {}), **SURE} | parts.pop("working_days", {})
    return deepcopy({"working_days": working_days, "notice": TWO_FULL_DAYS} | parts)


def hours(count: int, unit: str = "hours", **parts: Any) -> dict[str, Any]:
    """A notice of so many hours."""
    return {"term": {"count": count, "unit": unit}, **parts, **SURE}


def days(count: int, unit: str, day: str = "next", at: str = "00:00", **parts: Any) -> dict[str, Any]:
    """A notice of so many days that ends there."""
    return {"term": {"count": count, "unit": unit, "end": {"day": day, "at": at}}, **parts, **SURE}


def life(count: int, unit: str, counted_from: str, **parts: Any) -> dict[str, Any]:
    """A ticket's life of so many days."""
    return {"term": {"count": count, "unit": unit}, "counted_from": counted_from, **SURE} | parts


def moment(text: str, zone: str = EASTERN) -> datetime:
    """Moment of a local day and time."""
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))


def dates(
    clock: dict[str, Any],
    called: str,
    *,
    start: str | None = None,
    kind: str = "routine",
    zone: str = EASTERN,
) -> TicketDates:
    """The dates of a call at a local day and time."""
    start_at = moment(start, zone) if start else None
    call = Call(kind=kind, called_at=moment(called, zone), time_zone=zone, start_at=start_at)
    return ticket_dates(read_clock(clock), call)


def local(at: datetime | None, zone: str = EASTERN) -> str | None:
    """A moment as a day and time there."""
    return f"{at.astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M}" if at else None
