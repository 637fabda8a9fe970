"""The cells of a row of tickets or responses, each read as what its column holds."""

import math
import unicodedata
from collections.abc import Callable
from collections.abc import Mapping as Map
from dataclasses import dataclass
from typing import Any

from locates.errors import MOST_COUNTED, JobFileError, PositionError
from locates.exchange.bulk_kinds import BulkField, BulkKind, column_named
from locates.exchange.local_moments import MOMENT_EXAMPLES, read_local_moment
from locates.exchange.vector_errors import RowError
from locates.exchange.vector_mapping import COLUMN, FIXED, Mapping
from locates.exchange.vector_rows import read_length_m
from locates.exchange.vector_table import Row, Table, Value, text_of
from locates.exchange.written_areas import read_area
from locates.models import FacilityOperator

MOST_NAMED = 6
LONGEST_SHOWN = 60
WITH_TIME = "a day and a time, such as 2026-11-06 14:30 or 2026-11-06T14:30:00-05:00"

_YES = frozenset({"yes", "y", "true", "1"})
_NO = frozenset({"no", "n", "false", "0"})
# A spreadsheet that opens an export would run it.
_FORMULA_STARTS = ("=", "@")
_LINES = "\n\r\t"
_UNREADABLE = "\N{REPLACEMENT CHARACTER}"


@dataclass(frozen=True)
class Line:
    """One row that was read: how the file counts it, and its values by field, those alone that it gives."""

    place: str
    values: dict[str, Any]


@dataclass(frozen=True)
class Reading:
    """How the cells of one table are read."""

    kind: BulkKind
    mapping: Mapping
    time_zone: str
    operators: Map[str, FacilityOperator]


class CellError(ValueError):
    """A cell that no value is read from: what stands there, and what may."""

    def __init__(self, found: str, accepted: str) -> None:
        super().__init__(found, accepted)
        self.found = found
        self.accepted = accepted


def operators_by_name(operators: list[FacilityOperator]) -> dict[str, FacilityOperator]:
    """Operators by the name that a cell is held against: without capitals, with single blanks."""
    return {bare(one.name): one for one in operators}


def bare(text: str) -> str:
    """A text without capitals and with single blanks, as two people write the same one."""
    return " ".join(text.replace("_", " ").split()).casefold()


def read_lines(table: Table, reading: Reading) -> tuple[list[Line], list[RowError]]:
    """The rows of a table that could be read whole, and an error for every cell that could not.

    Past `MOST_COUNTED` errors no row is read any more.
    """
    lines: list[Line] = []
    errors: list[RowError] = []
    for row in table.rows:
        place = f"{table.row_word} {row.number}"
        known = len(errors)
        values = {}
        for one in reading.kind.fields:
            value = _value(table, row, one, place, reading, errors)
            if value is not None:
                values[one.name] = value
        if len(errors) == known:
            lines.append(Line(place, values))
        if len(errors) >= MOST_COUNTED:
            break
    return lines, errors


def _value(
    table: Table, row: Row, one: BulkField, place: str, reading: Reading, errors: list[RowError]
) -> Any:
    source = reading.mapping.source(one.name)
    raw: Value = None
    if source.how == COLUMN:
        raw = row.values[table.columns.index(source.text)]
    elif source.how == FIXED:
        raw = source.text
    text = text_of(raw)
    column = column_named(reading.mapping, reading.kind, one.name)
    if not text:
        if one.is_required:
            errors.append(RowError(place, column, "nothing", one.accepted))
        return None
    try:
        return _READERS[one.type](text, one, reading)
    except (CellError, JobFileError, PositionError) as error:
        errors.append(RowError(place, column, error.found, error.accepted))
    return None


def _shown(text: str) -> str:
    return f'"{text[:LONGEST_SHOWN]}"'


def _text(text: str, one: BulkField, _: Reading) -> str:
    if text.startswith(_FORMULA_STARTS):
        raise CellError(f"{_shown(text)}, which a spreadsheet takes for a formula", "text that is none")
    if _UNREADABLE in text or any(unicodedata.category(sign) == "Cc" for sign in text if sign not in _LINES):
        raise CellError("characters that cannot be read", "text of a file that is saved as UTF-8")
    if one.longest is not None and len(text) > one.longest:
        raise CellError(f"{len(text)} characters", f"at most {one.longest}")
    return text


def _choice(text: str, one: BulkField, _: Reading) -> str:
    for stored, shown in (one.choices or {}).items():
        if bare(text) in (bare(stored), bare(shown)):
            return stored
    raise CellError(_shown(text), one.accepted)


def _flag(text: str, _: BulkField, __: Reading) -> bool:
    if bare(text) in _YES | _NO:
        return bare(text) in _YES
    raise CellError(_shown(text), "yes or no, or nothing where nobody said")


def _length(text: str, one: BulkField, reading: Reading) -> float:
    try:
        length_m = read_length_m(text, text, reading.mapping.source(one.name).unit)
    except ValueError as error:
        raise CellError(_shown(text), str(error)) from error
    if not 0.0 < length_m < math.inf:
        raise CellError(_shown(text), "a length above 0")
    return length_m


def _moment(text: str, _: BulkField, reading: Reading) -> Any:
    try:
        moment = read_local_moment(text, reading.mapping.date_order, reading.time_zone)
    except ValueError as error:
        words = str(error)
        raise CellError(_shown(text), WITH_TIME if words == MOMENT_EXAMPLES else words) from error
    if ":" not in text:
        # Midnight would be a guess, and a day's difference under a rule with a cut-off hour.
        raise CellError(f"{_shown(text)}, a day without a time", WITH_TIME)
    return moment


def _operator(text: str, _: BulkField, reading: Reading) -> FacilityOperator:
    found = reading.operators.get(bare(text))
    if found is None:
        names = [one.name for one in reading.operators.values()]
        listed = ", ".join(names[:MOST_NAMED]) + (", ..." if len(names) > MOST_NAMED else "")
        missing = "one that is missing is added on the job's page first"
        raise CellError(_shown(text), f"an operator of the job ({listed or 'it has none yet'}); {missing}")
    return found


def _operators(text: str, one: BulkField, reading: Reading) -> list[FacilityOperator]:
    named = (_operator(name.strip(), one, reading) for name in text.split(";") if name.strip())
    return list({operator.pk: operator for operator in named}.values())


def _area(text: str, _: BulkField, __: Reading) -> Any:
    return read_area(text)


_READERS: dict[str, Callable[[str, BulkField, Reading], Any]] = {
    "text": _text,
    "choice": _choice,
    "flag": _flag,
    "length": _length,
    "moment": _moment,
    "operator": _operator,
    "operators": _operators,
    "area": _area,
}
