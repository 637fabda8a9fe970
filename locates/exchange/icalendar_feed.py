"""The dates of tickets as an iCalendar object (RFC 5545), written by the icalendar library."""

import unicodedata
from collections.abc import Callable, Iterable
from datetime import UTC, timedelta
from uuid import UUID, uuid5

from icalendar import Alarm, Calendar, Event

from locates.calendar_entries import SETTLED, DateKind, Entry

MEDIA_TYPE = "text/calendar; charset=utf-8"
NAME = "Locate tickets"
READ_AGAIN_AFTER = timedelta(hours=1)
ALARM_BEFORE = timedelta(hours=24)
WITH_ALARM = (DateKind.RENEW_BY, DateKind.EXPIRES)
CAUTION = (
    "A calendar may be hours old: look at the ticket before relying on it. "
    "Not legal advice, and no release to drill."
)


def write_calendar(entries: Iterable[Entry], address_of: Callable[[UUID], str], *, is_cut: bool) -> bytes:
    """Write entries as one calendar, times in UTC.

    Parameters
    ----------
    entries : iterable of Entry
        Those of retired tickets are written as cancelled.
    address_of : callable
        Full address of a ticket's page; empty where the site's is not known.
    is_cut : bool
        Whether later dates were left out; the calendar then says so at its last date.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Crosswatch//Ticket dates//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", NAME)
    calendar.add("x-wr-calname", NAME)  # what programs older than RFC 7986 read
    calendar.add("refresh-interval", READ_AGAIN_AFTER, parameters={"VALUE": "DURATION"})
    last = None
    for last in entries:
        calendar.add_component(_event(last, address_of(last.ticket_id)))
    if is_cut and last is not None:
        calendar.add_component(_end_of_list(last))
    return calendar.to_ical()


def _event(entry: Entry, address: str) -> Event:
    event = Event()
    # The same for good, whatever becomes of number and date (RFC 5545, 3.8.4.7; made as RFC 7986, 5.3 says).
    event.add("uid", str(uuid5(entry.ticket_id, entry.kind)))
    # Without a METHOD it is when the entry was last revised (3.8.7.2): the same records give the same file.
    event.add("dtstamp", entry.revised_at.astimezone(UTC).replace(microsecond=0))
    event.add("last-modified", entry.revised_at.astimezone(UTC).replace(microsecond=0))
    event.add("sequence", entry.version - 1)
    event.add("dtstart", entry.at.astimezone(UTC))
    event.add("summary", _text(f"{entry.title}: ticket {entry.number} ({entry.job})"))
    note = f" ({entry.note})" if entry.note else ""
    event.add("description", _text(f"{entry.title} {entry.moment}{note}. {CAUTION}"))
    event.add("location", _text(entry.job))
    event.add("class", "PRIVATE")
    event.add("transp", "TRANSPARENT")
    event.add("status", "CANCELLED" if entry.is_retired else "CONFIRMED")
    if address:
        event.add("url", address)
    if entry.kind in WITH_ALARM and not entry.is_retired and entry.state not in SETTLED:
        event.add_component(_alarm(entry))
    return event


def _alarm(entry: Entry) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", -ALARM_BEFORE)
    alarm.add("description", _text(f"{entry.title}: ticket {entry.number}"))
    return alarm


def _end_of_list(last: Entry) -> Event:
    event = Event()
    event.add("uid", str(uuid5(last.ticket_id, "later dates left out")))
    event.add("dtstamp", last.revised_at.astimezone(UTC).replace(microsecond=0))
    event.add("dtstart", last.at.astimezone(UTC))
    event.add("summary", "Later ticket dates are left out of this calendar: see the site")
    event.add("transp", "TRANSPARENT")
    return event


def _text(text: str) -> str:
    """Text without control characters, which RFC 5545 (3.1, CONTROL) allows nowhere in a value."""
    return " ".join("".join(" " if unicodedata.category(one) == "Cc" else one for one in text).split())
