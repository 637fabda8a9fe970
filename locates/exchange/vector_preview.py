"""The first rows of a file, as they stand in it and as they would be stored, in words for people."""

from itertools import islice
from typing import Any, NamedTuple

from locates.exchange.moments import read_moment
from locates.exchange.positions import positions_of
from locates.exchange.vector_kinds import VectorField, VectorKind
from locates.exchange.vector_table import Row, Table, text_of
from locates.local_time import format_moment
from locates.models import FacilityType, Job, LineworkType
from locates.units import format_length

MOST_SHOWN = 8
MOST_DRAWN_POSITIONS = 3000  # the page stays light; the check itself is of every row
DRAWN_DECIMALS = 8  # of a degree: a millimetre
LONGEST_SHOWN = 40

_WORDS = {**dict(FacilityType.choices), **dict(LineworkType.choices), True: "yes", False: "no"}


class PreviewRow(NamedTuple):
    """A record as it would be stored: where it began, where it lies, its fields with their labels."""

    place: str
    position: str
    cells: list[tuple[str, str]]


def raw_rows(table: Table) -> list[tuple[int, list[tuple[str, str]]]]:
    """First rows with their column names, as the file has them."""
    return [(row.number, _raw_cells(table, row)) for row in table.rows[:MOST_SHOWN]]


def preview_rows(
    features: list[dict[str, Any]], places: list[str], kind: VectorKind, job: Job
) -> list[PreviewRow]:
    """First records with the fields that any of them has."""
    shown = list(islice(zip(features, places, strict=True), MOST_SHOWN))
    used = [one for one in kind.fields if any(one.name in feature["properties"] for feature, _ in shown)]
    return [
        PreviewRow(
            place,
            _position(feature["geometry"]),
            [(one.label, _shown(one, feature["properties"].get(one.name), job)) for one in used],
        )
        for feature, place in shown
    ]


def drawn_geometries(features: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Geometries to draw, to the millimetre: all of them, or the first of very many."""
    drawn, left = [], MOST_DRAWN_POSITIONS
    for feature in features:
        geometry = feature["geometry"]
        left -= len(positions_of(geometry))
        if left < 0:
            break
        drawn.append({"type": geometry["type"], "coordinates": _rounded(geometry["coordinates"])})
    return drawn


def _rounded(coordinates: Any) -> Any:
    if isinstance(coordinates, list):
        return [_rounded(inner) for inner in coordinates]
    return round(coordinates, DRAWN_DECIMALS)


def _raw_cells(table: Table, row: Row) -> list[tuple[str, str]]:
    return [
        (column, text_of(value)[:LONGEST_SHOWN])
        for column, value in zip(table.columns, row.values, strict=True)
    ]


def _position(geometry: dict[str, Any]) -> str:
    positions = positions_of(geometry)
    longitude_deg, latitude_deg = positions[0]
    where = f"{latitude_deg:.7f}, {longitude_deg:.7f}"
    return where if geometry["type"] == "Point" else f"{len(positions)} positions from {where}"


def _shown(one: VectorField, value: Any, job: Job) -> str:
    if value is None:
        return ""
    if one.type == "length":
        return format_length(value, job.show_units)
    if one.type == "moment":
        return format_moment(read_moment(value), job.time_zone)
    if one.type in ("choice", "flag"):
        return _WORDS.get(value, str(value))
    return str(value)[:LONGEST_SHOWN]
