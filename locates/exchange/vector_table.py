"""What every file of surveyed things is read into: a table with columns, rows, and perhaps shapes."""

import gzip
import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from locates.exchange.coordinate_systems import CoordinateSystem, system_of_code, system_of_description

Value = str | float | int | bool | None


@dataclass(frozen=True)
class Row:
    """One row: how its reader counts it, its values in the order of the columns, its shape."""

    number: int
    values: tuple[Value, ...]
    shape: BaseGeometry | None = None


@dataclass(frozen=True)
class Table:
    """One layer of a file.

    Parameters
    ----------
    name : str
        The layer's; "" where a file has but one.
    columns : tuple of str
        As the file names them.
    rows : tuple of Row
        In the order of the file.
    row_word : str
        ``row`` where the reader counts as a spreadsheet does, with the header as row 1; else ``feature``.
    has_shapes : bool
        Whether the rows carry shapes; else their positions are in columns.
    system : CoordinateSystem or None
        What the file says of its coordinates; None where it says nothing.
    is_sure : bool
        Whether the format fixes the system, so that nobody can choose another.
    metre_columns : tuple of str
        Columns that the format fixes to be in metres.
    note : str
        What the reader has to tell whoever confirms the columns.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    row_word: str = "feature"
    has_shapes: bool = True
    system: CoordinateSystem | None = None
    is_sure: bool = False
    metre_columns: tuple[str, ...] = ()
    note: str = ""

    def texts_of(self, column: str) -> list[str]:
        """Every value of a column as text."""
        place = self.columns.index(column)
        return [text_of(row.values[place]) for row in self.rows]

    @property
    def has_heights(self) -> bool:
        """Whether a shape carries a height."""
        return any(row.shape is not None and row.shape.has_z for row in self.rows)


def text_of(value: Value) -> str:
    """A value as a person would write it; "" where there is none."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value).strip()


def packed(tables: Iterable[Table]) -> bytes:
    """Tables as bytes that can be kept; `unpacked` gives them back."""
    document = [
        {
            "name": table.name,
            "columns": table.columns,
            "rows": [[row.number, row.values, _written(row.shape)] for row in table.rows],
            "row_word": table.row_word,
            "has_shapes": table.has_shapes,
            "system": _system_text(table.system),
            "is_sure": table.is_sure,
            "metre_columns": table.metre_columns,
            "note": table.note,
        }
        for table in tables
    ]
    return gzip.compress(json.dumps(document).encode(), mtime=0)


def unpacked(content: bytes) -> list[Table]:
    """Tables of `packed` bytes."""
    return [_table(entry) for entry in json.loads(gzip.decompress(content))]


def _table(entry: dict[str, Any]) -> Table:
    rows = tuple(
        Row(number, tuple(values), None if shape is None else shapely.from_wkb(shape))
        for number, values, shape in entry["rows"]
    )
    return Table(
        name=entry["name"],
        columns=tuple(entry["columns"]),
        rows=rows,
        row_word=entry["row_word"],
        has_shapes=entry["has_shapes"],
        system=_system_of(entry["system"]),
        is_sure=entry["is_sure"],
        metre_columns=tuple(entry["metre_columns"]),
        note=entry["note"],
    )


def _written(shape: BaseGeometry | None) -> str | None:
    return None if shape is None else shapely.to_wkb(shape, hex=True)


def _system_text(system: CoordinateSystem | None) -> str:
    if system is None:
        return ""
    return str(system.epsg) if system.epsg else system.crs.to_wkt()


def _system_of(text: str) -> CoordinateSystem | None:
    if not text:
        return None
    return system_of_code(text) if text.isdigit() else system_of_description(text)
