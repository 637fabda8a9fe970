"""What an edit of a record changed, as words: the columns that differ, before and after."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import shapely

from locates.units import UNKNOWN

BOOKKEEPING = frozenset(
    {"id", "version", "edited_at", "edited_by_id", "job_id", "retirement_id", "retired_by_id"}
)
"""Columns that every save changes, or that another column says already."""

SHAPES = frozenset({"geometry", "location", "position", "alignment", "area"})
PLACES = 8  # decimals of a degree: 1.1 mm of latitude


@dataclass(frozen=True)
class FieldChange:
    """One column of a record, its value before and after as words."""

    field: str
    before: str
    after: str


def changed_fields(before: Mapping[str, Any] | None, after: Mapping[str, Any] | None) -> list[FieldChange]:
    """The columns that an event changed, in order of their names.

    Parameters
    ----------
    before, after : mapping of column to value, or None
        The row as the record of events keeps it; None where there was none, as before a record was added.

    Returns
    -------
    list of FieldChange
        Of a record that was added or deleted, the columns that held anything.
    """
    was, became = before or {}, after or {}
    changes = []
    for field in sorted((was.keys() | became.keys()) - BOOKKEEPING):
        one = FieldChange(field, value_words(field, was.get(field)), value_words(field, became.get(field)))
        if one.before != one.after:
            changes.append(one)
    return changes


def value_words(field: str, value: Any) -> str:
    """A value of a column in words; nothing is "unknown".

    Parameters
    ----------
    field : str
        Name of the column.
    value : JSON value
        Shapes as EWKB in hexadecimal, as the record of events keeps them.

    Returns
    -------
    str
        A shape as well-known text (OGC 06-103r4) in degrees of eight decimals.
    """
    if value is None or value == "":
        return UNKNOWN
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field in SHAPES and isinstance(value, str):
        return shapely.to_wkt(shapely.from_wkb(value), rounding_precision=PLACES)
    return str(value)


def all_changes(before: Mapping[str, Any] | None, after: Mapping[str, Any] | None) -> str:
    """The changes of an event as one line, for a cell of a table.

    Parameters
    ----------
    before, after : mapping of column to value, or None

    Returns
    -------
    str
        Such as ``depth_to_top_m: 0.72 -> 0.75; is_open: yes -> no``.
    """
    return "; ".join(f"{one.field}: {one.before} -> {one.after}" for one in changed_fields(before, after))
