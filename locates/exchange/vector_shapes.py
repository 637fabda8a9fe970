"""Shapes of a table in longitude and latitude, as the job file writes them; what is no shape is an error."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from locates.exchange.coordinate_systems import CoordinateSystem, system_of_code
from locates.exchange.vector_errors import RowError, VectorFileError
from locates.exchange.vector_kinds import VectorKind
from locates.exchange.vector_mapping import Mapping
from locates.exchange.vector_table import Row, Table, text_of

SHAPE_COLUMN = "shape"
BARE_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)

_PARTS = {"MultiPoint": "point", "MultiLineString": "line", "MultiPolygon": "area"}


@dataclass(frozen=True)
class Thing:
    """What becomes one record: its rows in their order, and its shape in the file's coordinates."""

    rows: tuple[Row, ...]
    shape: BaseGeometry | None

    @property
    def height(self) -> float | None:
        """The shape's one height, where it has one."""
        if self.shape is None or not self.shape.has_z:
            return None
        heights = shapely.get_coordinates(self.shape, include_z=True)[:, 2]
        return float(heights[0]) if np.isfinite(heights[0]) else None


def place_of(table: Table, row: Row) -> str:
    """A row as its reader counts it."""
    return f"{table.row_word} {row.number}"


def system_of(table: Table, mapping: Mapping) -> CoordinateSystem:
    """The coordinate system that counts: the one a person chose, else the file's."""
    if mapping.epsg and not table.is_sure:
        return system_of_code(mapping.epsg)
    if table.system is None:
        raise VectorFileError("no coordinate system", "the EPSG code that the file's coordinates are in")
    return table.system


def things_of(table: Table, kind: VectorKind, mapping: Mapping) -> tuple[list[Thing], list[RowError]]:
    """Every thing of a table with its shape in the file's coordinates."""
    errors: list[RowError] = []
    single = []
    for row in table.rows:
        shape = _shape_of(table, mapping, row, errors)
        single.append(Thing((row,), shape))
    if mapping.join and kind.takes_lines and not table.has_shapes and not mapping.wkt:
        return _joined(table, mapping, single), errors
    return single, errors


def geometries(
    table: Table, mapping: Mapping, things: list[Thing]
) -> tuple[list[dict[str, Any] | None], list[RowError]]:
    """GeoJSON geometries in WGS 84; None where a thing has no shape, or one that lies nowhere."""
    system = system_of(table, mapping)
    unit = system.unit if table.is_sure else mapping.unit
    if not unit:
        raise VectorFileError("coordinates without a unit", "the unit that the file's coordinates are in")
    shapes = [None if thing.shape is None else shapely.force_2d(thing.shape) for thing in things]
    there = np.array([shape for shape in shapes if shape is not None], dtype=object)
    positions = shapely.get_coordinates(there)
    lon_lat = system.to_wgs_84(positions[:, 0], positions[:, 1], unit) if len(positions) else positions
    moved = iter(shapely.set_coordinates(there.copy(), np.where(np.isfinite(lon_lat), lon_lat, 1e30)))
    results: list[dict[str, Any] | None] = []
    errors = []
    for thing, shape in zip(things, shapes, strict=True):
        result = None if shape is None else next(moved)
        if result is not None and max(map(abs, result.bounds)) > 360.0:
            words = f"a position that lies nowhere in {system.name}"
            accepted = "coordinates of that system and unit: is it the right one?"
            errors.append(RowError(place_of(table, thing.rows[0]), SHAPE_COLUMN, words, accepted))
            result = None
        results.append(None if result is None else _listed(result))
    return results, errors


def _listed(shape: BaseGeometry) -> dict[str, Any]:
    kind = shape.geom_type
    if kind == "Polygon":
        rings = [shape.exterior, *shape.interiors]
        return {"type": kind, "coordinates": [shapely.get_coordinates(ring).tolist() for ring in rings]}
    positions = shapely.get_coordinates(shape).tolist()
    return {"type": kind, "coordinates": positions[0] if kind == "Point" else positions}


def _shape_of(table: Table, mapping: Mapping, row: Row, errors: list[RowError]) -> BaseGeometry | None:
    found = row.shape if table.has_shapes else _written_shape(table, mapping, row, errors)
    if found is None and not table.has_shapes:
        return None
    place = place_of(table, row)
    if found is None or found.is_empty:
        errors.append(RowError(place, SHAPE_COLUMN, "nothing", "a point, a line or an area"))
        return None
    if found.geom_type in _PARTS and len(found.geoms) == 1:
        return found.geoms[0]
    if found.geom_type in _PARTS:
        part = _PARTS[found.geom_type]
        words = f"a shape of {len(found.geoms)} parts"
        errors.append(RowError(place, SHAPE_COLUMN, words, f"one {part} for each feature"))
        return None
    if found.geom_type not in ("Point", "LineString", "Polygon"):
        errors.append(RowError(place, SHAPE_COLUMN, f"a {found.geom_type}", "a point, a line or an area"))
        return None
    return found


def _written_shape(table: Table, mapping: Mapping, row: Row, errors: list[RowError]) -> BaseGeometry | None:
    place = place_of(table, row)
    if mapping.wkt:
        text = text_of(row.values[table.columns.index(mapping.wkt)])
        try:
            return shapely.from_wkt(text)
        except shapely.errors.ShapelyError:
            accepted = "well-known text, such as LINESTRING (30 10, 40 20)"
            errors.append(RowError(place, mapping.wkt, f'"{text[:40]}"', accepted))
            return None
    if not (mapping.x and mapping.y):
        raise VectorFileError("no columns for the positions", "the columns that hold x and y")
    numbers = []
    for column in (mapping.x, mapping.y):
        text = text_of(row.values[table.columns.index(column)])
        if BARE_NUMBER.fullmatch(text) and abs(float(text)) < 1e12:
            numbers.append(float(text))
        else:
            errors.append(RowError(place, column, f'"{text[:40]}"', "a number, such as 3114226.21"))
    return Point(numbers) if len(numbers) == 2 else None


def _joined(table: Table, mapping: Mapping, single: list[Thing]) -> list[Thing]:
    """Rows of one value, in their order, as one line; a single row stays a point."""
    groups: dict[str, list[Thing]] = {}
    for thing in single:
        key = text_of(thing.rows[0].values[table.columns.index(mapping.join)])
        groups.setdefault(key, []).append(thing)
    return list(_lines(groups))


def _lines(groups: dict[str, list[Thing]]) -> Iterator[Thing]:
    for things in groups.values():
        rows = tuple(thing.rows[0] for thing in things)
        positions = [thing.shape.coords[0] for thing in things if thing.shape is not None]
        if len(positions) < len(things):
            yield Thing(rows, None)
        elif len(positions) == 1:
            yield Thing(rows, Point(positions[0]))
        else:
            yield Thing(rows, LineString(positions))
