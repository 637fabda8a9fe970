"""The reference that comes after those which are there."""

import re
from collections.abc import Iterable

_NUMBERED = re.compile(r"(?P<start>.*?)(?P<number>\d{1,9})", re.ASCII | re.DOTALL)


def next_reference(references: Iterable[str], first: str) -> str:
    """The reference with the highest number, counted on by one; ``first`` where none has a number."""
    matches = [match for match in map(_NUMBERED.fullmatch, references) if match]
    if not matches:
        return first
    last = max(matches, key=lambda match: int(match["number"]))
    return f"{last['start']}{int(last['number']) + 1:0{len(last['number'])}d}"
