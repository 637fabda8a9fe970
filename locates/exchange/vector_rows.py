"""From the rows of a table to features of the job file, each text read in its unit, order and zone."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from locates.errors import LengthError
from locates.exchange.local_moments import read_local_moment
from locates.exchange.moments import write_moment
from locates.exchange.vector_errors import RowError
from locates.exchange.vector_kinds import VectorField, VectorKind
from locates.exchange.vector_mapping import COLUMN, FIXED, HEIGHT, LENGTH_UNITS, NUMBERED, Mapping, Source
from locates.exchange.vector_progress import EVERY, Phase, Told, tell_nobody
from locates.exchange.vector_shapes import BARE_NUMBER, Thing, geometries, place_of, things_of
from locates.exchange.vector_table import Row, Table, Value, text_of
from locates.units import METRES_PER_FOOT, METRES_PER_INCH, METRES_PER_US_SURVEY_FOOT, parse_length_m

_UNIT_M = {
    "us_survey_foot": METRES_PER_US_SURVEY_FOOT,
    "foot": METRES_PER_FOOT,
    "inch": METRES_PER_INCH,
    "cm": 0.01,
    "mm": 0.001,
}
# Painted again some time on a day counts as painted at its end: a hole of that day is doubtful.
_END_OF_DAY = frozenset({"re_marked_at"})


@dataclass(frozen=True)
class Reading:
    """Features of a table, where each began, and what could not be read."""

    features: list[dict[str, Any]]
    places: list[str]
    errors: list[RowError]


class _NotRead(ValueError):
    """A text that no value was read from; its words say what is accepted."""


def read_rows(
    table: Table, kind: VectorKind, mapping: Mapping, time_zone: str, told: Told = tell_nobody
) -> Reading:
    """Features of the rows that could be read, and an error for every value that could not."""
    things, errors = things_of(table, kind, mapping)
    shapes, shape_errors = geometries(table, mapping, things)
    errors += shape_errors
    features, places = [], []
    for number, (thing, geometry) in enumerate(zip(things, shapes, strict=True), start=1):
        place = place_of(table, thing.rows[0])
        found: list[RowError] = []
        properties = {"kind": kind.name}
        for one in kind.fields:
            value = _value(table, mapping, thing, one, number, time_zone, found)
            if value is not None:
                properties[one.name] = value
        errors += found
        if not found and geometry is not None:
            features.append({"type": "Feature", "geometry": geometry, "properties": properties})
            places.append(place)
        if number % EVERY == 0:
            told(Phase.READ, number)
    return Reading(features, places, errors)


def column_of(mapping: Mapping, kind: VectorKind, member: str) -> str:
    """The column that a member of a feature came from, as its error names it."""
    source = mapping.source(member)
    if source.how == COLUMN:
        return source.text
    return next((one.label for one in kind.fields if one.name == member), "")


def _value(
    table: Table,
    mapping: Mapping,
    thing: Thing,
    one: VectorField,
    number: int,
    time_zone: str,
    errors: list[RowError],
) -> Any:
    source = mapping.source(one.name)
    if source.how == COLUMN:
        raw = _same_in_all(table, source.text, thing.rows, errors)
    elif source.how == HEIGHT:
        raw = thing.height
    else:
        raw = _given(source, number)
    text = text_of(raw)
    if not text:
        return None
    try:
        return _read(one, raw, text, source, mapping, time_zone)
    except _NotRead as error:
        place = place_of(table, thing.rows[0])
        column = source.text if source.how == COLUMN else one.label
        errors.append(RowError(place, column, f'"{text[:60]}"', str(error)))
        return None


def _given(source: Source, number: int) -> Value:
    if source.how == FIXED:
        return source.text
    return f"{source.text}{number}" if source.how == NUMBERED else None


def _same_in_all(table: Table, column: str, rows: Iterable[Row], errors: list[RowError]) -> Value:
    """A column's value in the rows of one line, which may leave it out but not contradict each other."""
    place = table.columns.index(column)
    found: tuple[Value, Row] | None = None
    for row in rows:
        value = row.values[place]
        if value in (None, ""):
            continue
        if found is None:
            found = (value, row)
        elif text_of(value) != text_of(found[0]):
            accepted = (
                f'"{text_of(found[0])[:60]}" as in {place_of(table, found[1])} of the same line, or nothing'
            )
            errors.append(RowError(place_of(table, row), column, f'"{text_of(value)[:60]}"', accepted))
    return None if found is None else found[0]


def _read(one: VectorField, raw: Value, text: str, source: Source, mapping: Mapping, time_zone: str) -> Any:
    if one.type == "length":
        return read_length_m(raw, text, source.unit)
    if one.type == "moment":
        return _moment(text, one, mapping.date_order, time_zone)
    if one.type == "text":
        return text
    meant = mapping.values.get(one.name, {}).get(text, "")
    if one.type == "operator":
        return _listed(meant, "an operator that you chose for it")
    if one.type == "choice":
        return _listed(meant, f"a value that you gave the meaning of: {', '.join(one.choices)}", one.choices)
    _listed(meant, "yes, no, or a value that you gave the meaning of", ("yes", "no"))
    return meant == "yes"


def _listed(meant: str, accepted: str, choices: tuple[str, ...] = ()) -> str:
    if not meant or (choices and meant not in choices):
        raise _NotRead(accepted)
    return meant


def read_length_m(raw: Value, text: str, unit: str) -> float:
    """Length of a cell; raises ``ValueError`` in words for people where a bare number has no unit."""
    if isinstance(raw, bool):
        raise _NotRead("a length")
    # A number of a binary file is taken to its last digit, not as its text.
    is_number = isinstance(raw, float | int)
    if is_number or BARE_NUMBER.fullmatch(text):
        if not unit:
            units = ", ".join(LENGTH_UNITS.values())
            raise _NotRead(f"a length with its unit, or the unit of the column: {units}")
        number = float(raw if is_number and raw is not None else text)
        return number if unit == "m" else number * _UNIT_M[unit]
    try:
        return parse_length_m(text)
    except LengthError as error:
        raise _NotRead(error.reason) from error


def _moment(text: str, one: VectorField, order: str, time_zone: str) -> str:
    try:
        moment = read_local_moment(text, order, time_zone, end_of_day=one.name in _END_OF_DAY)
    except ValueError as error:
        raise _NotRead(str(error)) from error
    return write_moment(moment)
