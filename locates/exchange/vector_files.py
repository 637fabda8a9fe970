"""Files of surveyed things, read into tables: CSV, GeoJSON, GeoPackage, KML, GPX, zipped Shapefile, DXF.

CSV and GeoJSON are read here; the others by GDAL, in a process of its own (gdal_process.py), from a private
folder that is gone afterwards.
"""

import tempfile
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path, PurePosixPath
from typing import Any

import numpy as np
import shapely

from locates.exchange.coordinate_systems import (
    WGS_84_CODE,
    CoordinateSystem,
    system_of_code,
    system_of_description,
)
from locates.exchange.csv_tables import read_csv
from locates.exchange.gdal_process import ask_gdal
from locates.exchange.geojson_tables import read_geojson
from locates.exchange.upload_guard import (
    LONGEST_CELL,
    MOST_COLUMNS,
    MOST_POSITIONS,
    MOST_ROWS,
    check_geopackage,
    check_size,
    check_xml,
    shapefile_parts,
)
from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_table import Row, Table

FORMAT_NAMES = "CSV, GeoJSON, GeoPackage, KML, GPX, Shapefile (zipped) or DXF"

# What the library adds to every feature of KML and DXF of its own, and nobody surveyed.
_KML_EXTRAS = ("id", "tessellate", "extrude", "visibility", "drawOrder", "icon", "altitudeMode", "snippet")
_DXF_EXTRAS = ("PaperSpace", "SubClasses", "EntityHandle", "ExtendedEntity")
_GPX_LAYERS = ("waypoints", "routes", "tracks")
_GPX_METRES = ("ele",)


def read_tables(file_name: str, raw: bytes) -> list[Table]:
    """Layers of a file that hold at least one row.

    The name's suffix says the format, and the content must agree. Raises `VectorFileError`.
    """
    check_size(len(raw))
    suffix = PurePosixPath(file_name.lower()).suffix
    reader = _READERS.get(suffix)
    if reader is None:
        raise VectorFileError(f'a file "{file_name[:80]}"', FORMAT_NAMES)
    tables = [table for table in reader(raw) if table.rows]
    if not tables:
        raise VectorFileError("a file without features", "a file with at least one feature")
    _check_amount(tables)
    return tables


def _check_amount(tables: Iterable[Table]) -> None:
    positions = 0
    for table in tables:
        if len(table.columns) > MOST_COLUMNS:
            raise VectorFileError(f"{len(table.columns)} columns", f"at most {MOST_COLUMNS}")
        for row in table.rows:
            positions += 0 if row.shape is None else int(shapely.get_num_coordinates(row.shape))
            longest = max((len(value) for value in row.values if isinstance(value, str)), default=0)
            if longest > LONGEST_CELL:
                place = f"{table.row_word} {row.number}"
                raise VectorFileError(f"{longest} characters of text in {place}", f"at most {LONGEST_CELL}")
    if positions > MOST_POSITIONS:
        raise VectorFileError(f"{positions:,} positions", f"at most {MOST_POSITIONS:,}")


def _read_geopackage(raw: bytes) -> list[Table]:
    check_geopackage(raw)
    return [
        _table(layer, *_system_of_geopackage(layer["system"]))
        for layer in _layers("GPKG", "upload.gpkg", {"upload.gpkg": raw})
    ]


def _read_kml(raw: bytes) -> list[Table]:
    check_xml(raw, "kml")
    layers = _layers("LIBKML", "upload.kml", {"upload.kml": raw})
    return [_in_wgs_84(_without(_without_drawn_heights(layer), _KML_EXTRAS)) for layer in layers]


def _read_gpx(raw: bytes) -> list[Table]:
    check_xml(raw, "gpx")
    layers = _layers("GPX", "upload.gpx", {"upload.gpx": raw})
    return [
        _in_wgs_84(_without(layer, ()), metre_columns=_GPX_METRES)
        for layer in layers
        if layer["name"] in _GPX_LAYERS
    ]


def _read_shapefiles(raw: bytes) -> list[Table]:
    tables = []
    for stem, parts in shapefile_parts(raw).items():
        # The description of the coordinate system stays here: GDAL never sees it.
        files = {f"upload{suffix}": content for suffix, content in parts.items() if suffix != ".prj"}
        description = parts.get(".prj")
        text = None if description is None else description.decode("utf-8-sig", errors="replace").strip()
        for layer in _layers("ESRI Shapefile", "upload.shp", files):
            tables.append(_table({**layer, "name": stem}, *_described(text)))
    return tables


def _read_dxf(raw: bytes) -> list[Table]:
    head = raw[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    if not head.startswith((b"0", b"999")) or b"SECTION" not in head:
        raise VectorFileError("a file that is no DXF in text inside", "an ASCII DXF file")
    layers = _layers("DXF", "upload.dxf", {"upload.dxf": raw})
    return [_without_flat_heights(_table(_without(layer, _DXF_EXTRAS), None, "")) for layer in layers]


_READERS: dict[str, Callable[[bytes], list[Table]]] = {
    ".csv": lambda raw: [read_csv(raw)],
    ".txt": lambda raw: [read_csv(raw)],
    ".geojson": lambda raw: [read_geojson(raw)],
    ".json": lambda raw: [read_geojson(raw)],
    ".gpkg": _read_geopackage,
    ".kml": _read_kml,
    ".gpx": _read_gpx,
    ".zip": _read_shapefiles,
    ".dxf": _read_dxf,
}
SUFFIXES = tuple(_READERS)


def _layers(driver: str, name: str, files: dict[str, bytes]) -> list[dict[str, Any]]:
    with tempfile.TemporaryDirectory(prefix="vector-") as folder:
        for file_name, content in files.items():
            (Path(folder) / file_name).write_bytes(content)
        request = {"driver": driver, "file": name, "most_rows": MOST_ROWS}
        layers: list[dict[str, Any]] = ask_gdal("read", request, Path(folder))["layers"]
    return layers


def _without_drawn_heights(layer: dict[str, Any]) -> dict[str, Any]:
    """The layer with heights only where KML says that they are absolute: elsewhere the library puts zeros."""
    places = dict(zip(layer["columns"], layer["values"], strict=True))
    modes = places.get("altitudeMode", [None] * len(layer["shapes"]))
    shapes = [
        shape
        if shape is None or mode == "absolute"
        else shapely.to_wkb(shapely.force_2d(_shape(shape)), hex=True)
        for shape, mode in zip(layer["shapes"], modes, strict=True)
    ]
    return {**layer, "shapes": shapes}


def _shape(written: str) -> shapely.Geometry:
    try:
        return shapely.from_wkb(written)
    except shapely.errors.ShapelyError as error:
        raise VectorFileError(
            "a shape of a kind that is not taken", "points, lines and areas with straight edges"
        ) from error


def _without_flat_heights(table: Table) -> Table:
    """The table without heights, where all of them are the zeros that a drawing in plan is full of."""
    shapes = [row.shape for row in table.rows if row.shape is not None]
    heights = shapely.get_coordinates(shapes, include_z=True)[:, 2]
    if (heights[~np.isnan(heights)] != 0.0).any():
        return table
    rows = (replace(row, shape=row.shape and shapely.force_2d(row.shape)) for row in table.rows)
    return replace(table, rows=tuple(rows))


def _without(layer: dict[str, Any], extras: tuple[str, ...]) -> dict[str, Any]:
    """The layer without columns that the library adds, and without those that hold nothing."""
    kept = [
        place
        for place, (name, values) in enumerate(zip(layer["columns"], layer["values"], strict=True))
        if name not in extras and any(value not in (None, "") for value in values)
    ]
    return {
        **layer,
        "columns": [layer["columns"][place] for place in kept],
        "values": [layer["values"][place] for place in kept],
    }


def _table(
    layer: dict[str, Any],
    system: CoordinateSystem | None,
    note: str,
    *,
    is_sure: bool = False,
    metre_columns: tuple[str, ...] = (),
) -> Table:
    shapes = [None if shape is None else _shape(shape) for shape in layer["shapes"]]
    rows = tuple(
        Row(number, tuple(values[number - 1] for values in layer["values"]), shape)
        for number, shape in enumerate(shapes, start=1)
    )
    return Table(
        name=layer["name"],
        columns=tuple(layer["columns"]),
        rows=rows,
        system=system,
        is_sure=is_sure,
        metre_columns=metre_columns,
        note=note,
    )


def _in_wgs_84(layer: dict[str, Any], *, metre_columns: tuple[str, ...] = ()) -> Table:
    return _table(layer, system_of_code(str(WGS_84_CODE)), "", is_sure=True, metre_columns=metre_columns)


def _system_of_geopackage(found: dict[str, Any] | None) -> tuple[CoordinateSystem | None, str]:
    if found is None:
        return None, ""
    if found["organization"].upper() == "EPSG":
        try:
            return system_of_code(str(found["code"])), ""
        except VectorFileError as error:
            return None, f"The file's coordinate system was not taken: {error}."
    return _described(found["definition"])


def _described(text: str | None) -> tuple[CoordinateSystem | None, str]:
    """Coordinate system of a description, or why it was not taken: a person can name one instead."""
    if not text or text == "undefined":
        return None, "The file says nothing of its coordinate system."
    try:
        return system_of_description(text), ""
    except VectorFileError as error:
        return None, f"The file's coordinate system was not taken: {error}."
