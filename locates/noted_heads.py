"""Heads of the chain as somebody notes them outside of the database: a line for each, written and read."""

import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from locates.chain import BEGINNING, Fault, Place

LEEWAY = timedelta(minutes=10)
"""How long before its end a transaction may have made its entry: common practice, no source."""

_LINE = re.compile(
    r"(\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(?:\.\d{1,6})?Z) entry (\d{1,18}) ([0-9a-f]{64})", re.ASCII
)


class NotedHead(NamedTuple):
    """Where the chain stood at a moment, by the database's clock, in UTC."""

    noted_at: datetime
    place: Place


def head_line(noted: NotedHead) -> str:
    """The line of a noted head: its moment (RFC 3339, to the microsecond), the entry's number, its digest."""
    at = noted.noted_at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")
    return f"{at} entry {noted.place.sequence} {noted.place.entry_sha256}"


def read_heads(lines: Iterable[str]) -> list[NotedHead]:
    """The heads of a file of lines that `head_line` wrote, by their numbers; empty lines say nothing.

    Raises
    ------
    ValueError
        In words: the first line that is no such line, and what is accepted.
    """
    found = []
    for number, line in enumerate(lines, start=1):
        if line.strip():
            match = _LINE.fullmatch(line.strip())
            try:
                noted_at = datetime.fromisoformat(match[1]) if match else None
            except ValueError:
                noted_at = None
            if match is None or noted_at is None:
                raise ValueError(
                    f"line {number}: found '{line.strip()[:120]}'; accepted is a moment in UTC, 'entry', its "
                    "number and its digest, as --noted prints them"
                )
            found.append(NotedHead(noted_at, Place(int(match[2]), match[3])))
    return sorted(found, key=lambda one: (one.place.sequence, one.noted_at))


def fault_of_heads(noted: list[NotedHead], digests: dict[int, str]) -> Fault | None:
    """The first noted head that the chain does not have any more.

    Parameters
    ----------
    noted : list of NotedHead
        By their numbers.
    digests : dict of int to str
        Digest of each entry that there is of those numbers.

    Returns
    -------
    Fault or None
        It names the last noted head that still stands: what is wrong begins after it.
    """
    stands = BEGINNING.sequence
    for noted_at, place in noted:
        there = {BEGINNING.sequence: BEGINNING.entry_sha256, **digests}.get(place.sequence)
        if there != place.entry_sha256:
            at = f"{noted_at:%Y-%m-%d %H:%M:%S} UTC"
            what = "is missing" if there is None else f"has the digest {there}"
            up_to = (
                f"The chain is as noted up to entry {stands}."
                if stands
                else "No noted head before it stands."
            )
            return Fault(
                place.sequence,
                "",
                None,
                f"It {what}; the head noted {at} was {place.entry_sha256}. {up_to}",
            )
        stands = place.sequence
    return None


def fault_of_moments(noted: list[NotedHead], made: Iterable[tuple[int, datetime]]) -> Fault | None:
    """The first entry that says it was made before a head was noted, and stands after that head.

    Parameters
    ----------
    noted : list of NotedHead
        By their numbers.
    made : iterable of (int, datetime)
        Number and moment of the entries, by number.

    Returns
    -------
    Fault or None
        None where no entry is more than `LEEWAY` older than a head that it follows.
    """
    waiting, latest = list(reversed(noted)), None
    for sequence, made_at in made:
        while waiting and waiting[-1].place.sequence < sequence:
            noted_at = waiting.pop().noted_at
            latest = noted_at if latest is None else max(latest, noted_at)
        if latest is not None and made_at < latest - LEEWAY:
            return Fault(
                sequence,
                "",
                None,
                f"It says that it was made {made_at:%Y-%m-%d %H:%M:%S} UTC, and it was not there when a head "
                f"was noted {latest:%Y-%m-%d %H:%M:%S} UTC.",
            )
    return None
