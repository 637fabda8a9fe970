"""Counts of days and hours in words."""

from collections.abc import Iterable
from datetime import date, time

from locates.one_call.calendar_terms import DoubtfulDay
from locates.one_call.clock_terms import HOUR_UNITS, Term
from locates.one_call.counting import Count

MOST_NAMED = 4  # holidays on the way; a sentence with more is not read

KIND_WORDS = {
    "routine": "routine",
    "emergency": "emergency",
    "renewal": "renewal",
    "re_mark": "re-mark",
    "site_meeting": "site meeting",
}
_IN_TURN = "a working day in one count and a holiday in another"
_WAYS = {
    frozenset({False}): ("a holiday", "holidays"),
    frozenset({True}): ("a working day", "working days"),
    frozenset({False, True}): (_IN_TURN, "working days in one count and holidays in another"),
}
FROM = {
    "call": "the call",
    "receipt": "the receipt of the call",
    "notice begins": "the start of the notice period",
    "notice ends": "the end of the notice period",
    "legal start": "the legal start",
    "stated start": "the start stated",
    "answers due": "the day on which answers are due",
}


def say_term(term: Term) -> str:
    """How much, such as ``2 full business days``."""
    unit = term.unit.removesuffix("s") if term.count == 1 else term.unit
    return f"{term.count} {unit}" + (" on working days" if term.unit == "hours" else "")


def say_span(term: Term, count: Count, start: str) -> str:
    """A count in words.

    Parameters
    ----------
    term : Term
        What was counted.
    count : Count
        How that went.
    start : str
        From where, such as ``the day of the call``.

    Returns
    -------
    str
        Such as ``2 full business days after the day of the call, to Tue Nov 24 (Mon Nov 23 is X)``.
    """
    skipped = say_skipped(count.skipped)
    if term.unit in HOUR_UNITS:
        return f"{say_term(term)} from {start}{skipped}"
    if term.first_day_counts:
        return f"{say_term(term)} from {start}, that day counted, to {say_day(count.last)}{skipped}"
    return f"{say_term(term)} after {start}, to {say_day(count.last)}{skipped}"


def say_skipped(skipped: Iterable[tuple[date, str]]) -> str:
    """Holidays on the way, in brackets and in the order given; "" where there is none."""
    named = [f"{say_day(day)} is {name}" for day, name in skipped]
    if len(named) > MOST_NAMED:
        named = [*named[: MOST_NAMED - 1], f"{len(named) - MOST_NAMED + 1} more days do not count"]
    return f" ({', '.join(named)})" if named else ""


def say_days_taken(days: Iterable[DoubtfulDay], safe_side: str) -> str:
    """For what each doubtful day was taken, and why; "" where there is none.

    Parameters
    ----------
    days : iterable of DoubtfulDay
        In any order; one may be taken for a working day in one count and for a holiday in another.
    safe_side : str
        What is safe about it, such as "the later start".

    Returns
    -------
    str
        Such as ``Fri Nov 27 (X) is taken for a holiday, the later start being the safe one: ask the centre``.
    """
    taken: dict[tuple[date, str], set[bool]] = {}
    for one in days:
        taken.setdefault((one.day, one.name), set()).add(one.is_counted)
    ways: dict[frozenset[bool], list[str]] = {}
    for (day, name), way in sorted(taken.items()):
        ways.setdefault(frozenset(way), []).append(f"{say_day(day)} ({name})")
    said = [
        f"{_listed(named)} {'is' if len(named) == 1 else 'are'} taken for {_WAYS[way][len(named) > 1]}"
        for way, named in ways.items()
    ]
    return f"{'; '.join(said)}, {safe_side} being the safe one: ask the centre" if said else ""


def say_doubtful_days(days: Iterable[DoubtfulDay]) -> str:
    """Of which days nobody is sure; "" where there is none."""
    named = [f"{say_day(day)} ({name})" for day, name in sorted({(one.day, one.name) for one in days})]
    return (
        f"nobody is sure whether {_listed(named)} {'is a' if len(named) == 1 else 'are'} working day"
        + ("s" if len(named) > 1 else "")
        if named
        else ""
    )


def _listed(named: list[str]) -> str:
    *others, last = named
    return f"{', '.join(others)} and {last}" if others else last


def say_day(day: date) -> str:
    """Weekday, month and day."""
    return f"{day:%a %b} {day.day}"


def say_clock(clock: time) -> str:
    """Time of day, such as ``4:30 pm``."""
    return f"{clock.hour % 12 or 12}:{clock:%M} {'am' if clock.hour < 12 else 'pm'}"
