"""A column of the audit: once named, its value is shown on the page and written into files."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Any
from zoneinfo import ZoneInfo

from locates.local_time import format_moment
from locates.units import UNKNOWN, format_length, format_station


class Shown(Enum):
    """How a page words a value."""

    TEXT = "text"
    MOMENT = "moment"
    CLEARANCE = "clearance"  # never rounded up
    MARGIN = "margin"  # a clearance less what is required: one below 0 is to be heeded
    REQUIRED = "required"  # never rounded down
    STATION = "station"
    YES_NO = "yes or no"
    FILE_ONLY = "file only"  # too long for a page, or said there by another column


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes
    ----------
    name : str
        In files; a quantity's ends in its unit.
    heading : str
        On the page.
    value : callable
        From a row to its value: figures in metres, moments with an offset.
    shown : Shown
    link : callable, optional
        From a row to the address of the page that says more, or nothing.
    absent : str
        What the page says where there is no value.
    """

    name: str
    heading: str
    value: Callable[[Any], Any]
    shown: Shown = Shown.TEXT
    link: Callable[[Any], str] | None = None
    absent: str = UNKNOWN


@dataclass(frozen=True)
class Look:
    """How the job of a row wants its figures and moments."""

    show_units: str
    time_zone: str


@dataclass(frozen=True)
class Cell:
    """What a page shows of a value: words, where they lead, and whether they are known and to be heeded."""

    heading: str
    words: str
    href: str = ""
    is_unknown: bool = False
    is_stop: bool = False


def page_columns(columns: tuple[Column, ...]) -> list[Column]:
    """The columns that a page has room for."""
    return [one for one in columns if one.shown is not Shown.FILE_ONLY]


def page_cells(columns: tuple[Column, ...], row: Any, look: Look) -> list[Cell]:
    """A row as a page shows it, in the units and the time of its job.

    Parameters
    ----------
    columns : tuple of Column
    row : object
        What the columns read.
    look : Look

    Returns
    -------
    list of Cell
        A negative margin is one to be heeded; an unknown is said in words and never left empty.
    """
    return [_cell(one, row, look) for one in page_columns(columns)]


def file_cells(columns: tuple[Column, ...], row: Any, look: Look) -> list[Any]:
    """A row as a file has it: metres not rounded, moments with the offset of their job.

    Parameters
    ----------
    columns : tuple of Column
    row : object
    look : Look

    Returns
    -------
    list of values
        None where nothing is known.
    """
    return [_file_value(one.value(row), look) for one in columns]


def _file_value(value: Any, look: Look) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(ZoneInfo(look.time_zone)).isoformat()
    return value


def _cell(column: Column, row: Any, look: Look) -> Cell:
    value = column.value(row)
    words = column.absent if value is None else _words(value, column.shown, look)
    return Cell(
        heading=column.heading,
        words=words,
        href=column.link(row) if column.link else "",
        is_unknown=words == UNKNOWN,
        is_stop=column.shown is Shown.MARGIN and value is not None and value < 0.0,
    )


def _words(value: Any, shown: Shown, look: Look) -> str:
    if value == "":
        return "none" if shown is Shown.TEXT else UNKNOWN
    if shown is Shown.MOMENT:
        return format_moment(value, look.time_zone)
    if shown in (Shown.CLEARANCE, Shown.MARGIN):
        return format_length(value, look.show_units, "down")
    if shown is Shown.REQUIRED:
        return format_length(value, look.show_units, "up")
    if shown is Shown.STATION:
        # A station and its unit stay on one line.
        return f"{format_station(value, look.show_units)}\u00a0{'ft' if look.show_units == 'feet' else 'm'}"
    if shown is Shown.YES_NO:
        return "yes" if value else "no"
    return str(value)
