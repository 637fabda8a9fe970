"""A plan rod by rod as one field of a form: a length, a pitch and a heading a joint."""

from collections.abc import Callable
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import NamedTuple

from conflicts.forms.table_boxes import BETWEEN, TableBoxes, with_spare
from locates.angles import format_heading, parse_heading_rad, parse_pitch_ratio
from locates.errors import LengthError, WrittenValueError
from locates.forms.shown_back import ShownBackField
from locates.units import format_grade, format_length, parse_length_m

PARTS = ("length", "pitch", "heading")
Figures = tuple[float, float, float | None]


class StoredRods(NamedTuple):
    """Lengths since the joint before, pitches and headings, as they are stored."""

    lengths_m: list[float]
    pitches_ratio: list[float]
    headings_rad: list[float | None]


class CellError(NamedTuple):
    """What is wrong with a box; ``place`` counts lines from 0."""

    place: int
    part: str
    words: str

    def __str__(self) -> str:
        """Words that say where, for the head of the page."""
        return f"Joint {self.place + 1}, {self.part}: {self.words}"


@dataclass(frozen=True, slots=True)
class Cell:
    """A box of the table as the page shows it."""

    part: str
    text: str
    words: str


@dataclass(frozen=True, slots=True)
class Joint:
    """A line of the table as the page shows it, with its number in the names of its boxes."""

    number: int
    cells: list[Cell]

    @property
    def is_wrong(self) -> bool:
        """Whether words on a box stand below the line."""
        return any(cell.words for cell in self.cells)


class RodTable(TableBoxes):
    """A length, a pitch and a heading a line."""

    parts = PARTS


class RodTableField(ShownBackField):
    """A table whose lines are read by the form; see `joints_of`."""

    widget = RodTable
    refused_as = LengthError

    def shown(self, value: StoredRods) -> str:
        """A line for each joint."""
        return "\n".join(self._lines_of(value))

    def read(self, text: str) -> str:
        """The text as it is."""
        return text

    def lines_of(self, text: str, errors: list[CellError]) -> list[Joint]:
        """Lines for the page, with some to spare, and the words beside each box."""
        words: dict[tuple[int, str], list[str]] = {}
        for error in errors:
            words.setdefault((error.place, error.part), []).append(error.words)
        return [
            Joint(
                place,
                [
                    Cell(part, cell, " ".join(words.get((place, part), [])))
                    for part, cell in zip(PARTS, _cells(line), strict=True)
                ],
            )
            for place, line in enumerate(with_spare(text.splitlines()))
        ]

    def joints_of(self, text: str, stored: StoredRods) -> tuple[list[Figures], list[CellError]]:
        """Joints and what is wrong with boxes; what is as it was shown stays to the last digit."""
        shown, typed = self._lines_of(stored), text.splitlines()
        was: dict[int, int] = {}
        for kind, first, end, start, stop in SequenceMatcher(
            None, shown, typed, autojunk=False
        ).get_opcodes():
            if kind == "equal" or (kind == "replace" and end - first == stop - start):
                was |= dict(zip(range(start, stop), range(first, end), strict=True))
        figures = list(zip(*stored, strict=True))
        joints, errors = [], []
        for place, line in enumerate(typed):
            before = was.get(place)
            old = (shown[before], figures[before]) if before is not None else None
            joint, wrong = _joint(place, line, old)
            joints.append(joint)
            errors += wrong
        return joints, errors

    def _lines_of(self, value: StoredRods) -> list[str]:
        return [
            BETWEEN.join(
                (format_length(length_m, self.show_units), format_grade(pitch), format_heading(heading))
            )
            for length_m, pitch, heading in zip(*value, strict=True)
        ]


def _heading(text: str) -> float | None:
    """A heading, or None where the box is empty: the joint follows the alignment."""
    return parse_heading_rad(text) if text else None


_READ: dict[str, Callable[[str], float | None]] = {
    "length": parse_length_m,
    "pitch": parse_pitch_ratio,
    "heading": _heading,
}


def _joint(place: int, line: str, old: tuple[str, Figures] | None) -> tuple[Figures, list[CellError]]:
    shown, figures = (_cells(old[0]), old[1]) if old else ([""] * len(PARTS), (0.0, 0.0, None))
    read: list[float | None] = []
    errors = []
    for part, cell, as_shown, was in zip(PARTS, _cells(line), shown, figures, strict=True):
        try:
            read.append(was if old and cell == as_shown else _READ[part](cell))
        except WrittenValueError as error:
            read.append(0.0)
            errors.append(CellError(place, part, f"{error}."))
    length_m, pitch_ratio, heading_rad = read
    return (length_m or 0.0, pitch_ratio or 0.0, heading_rad), errors


def _cells(line: str) -> list[str]:
    return (line.split(BETWEEN) + [""] * len(PARTS))[: len(PARTS)]
