"""GeoJSON in and out (RFC 7946), through the job file's own reader: GDAL is not needed for it."""

import re
from typing import Any

import shapely
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from locates.errors import JobFileError
from locates.exchange.coordinate_systems import WGS_84_CODE, CoordinateSystem, system_of_code
from locates.exchange.json_reader import read_json
from locates.exchange.upload_guard import MOST_COLUMNS, MOST_ROWS
from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_table import Row, Table, Value

_SHAPES = ("Point", "LineString", "Polygon", "MultiPoint", "MultiLineString", "MultiPolygon")
_EPSG_NAME = re.compile(r"(?:urn:ogc:def:crs:EPSG:[0-9.]*:|EPSG:)(\d{4,6})", re.ASCII)
_WGS_84_NAMES = ("urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:OGC::CRS84", "CRS84")


def read_geojson(raw: bytes) -> Table:
    """Table of a FeatureCollection."""
    accepted = "a GeoJSON FeatureCollection (RFC 7946)"
    try:
        document = read_json(raw)
    except JobFileError as error:
        raise VectorFileError(error.found, error.accepted) from error
    if not isinstance(document, dict) or document.get("type") != "FeatureCollection":
        raise VectorFileError("JSON that is no FeatureCollection", accepted)
    features = document.get("features")
    if not isinstance(features, list) or not features:
        raise VectorFileError("no features", "a FeatureCollection with at least one feature")
    if len(features) > MOST_ROWS:
        raise VectorFileError(f"{len(features):,} features", f"at most {MOST_ROWS:,}")
    properties = [_properties(feature, number) for number, feature in enumerate(features, start=1)]
    columns = tuple(dict.fromkeys(name for members in properties for name in members))
    if len(columns) > MOST_COLUMNS:
        raise VectorFileError(f"{len(columns)} properties", f"at most {MOST_COLUMNS}")
    rows = tuple(
        Row(number, tuple(_plain(members.get(name)) for name in columns), _shape(feature, number))
        for number, (feature, members) in enumerate(zip(features, properties, strict=True), start=1)
    )
    system, is_sure = _system(document.get("crs"))
    return Table(name="", columns=columns, rows=rows, system=system, is_sure=is_sure)


def _properties(feature: Any, number: int) -> dict[str, Any]:
    if not isinstance(feature, dict) or feature.get("type") != "Feature":
        raise VectorFileError(f"feature {number}, which is none", 'an object whose type is "Feature"')
    members = feature.get("properties")
    if members is not None and not isinstance(members, dict):
        raise VectorFileError(f"feature {number} without an object of properties", "properties, or null")
    return members or {}


def _plain(value: Any) -> Value:
    if value is None or isinstance(value, str | int | float | bool):
        return value
    raise VectorFileError("a list or an object among the properties", "text, numbers, true and false")


def _shape(feature: dict[str, Any], number: int) -> BaseGeometry | None:
    geometry = feature.get("geometry")
    if geometry is None:
        return None
    if not isinstance(geometry, dict) or geometry.get("type") not in _SHAPES:
        raise VectorFileError(f"feature {number} with another geometry", f"one of {', '.join(_SHAPES)}")
    try:
        return shape(geometry)
    except (
        shapely.errors.ShapelyError,
        ValueError,
        TypeError,
        KeyError,
        AttributeError,
        IndexError,
    ) as error:
        raise VectorFileError(f"feature {number}, whose coordinates are none", "lists of numbers") from error


def _system(member: Any) -> tuple[CoordinateSystem, bool]:
    """RFC 7946 fixes WGS 84; files older than it name another in a member ``crs``."""
    if member is None:
        return system_of_code(str(WGS_84_CODE)), True
    name = member.get("properties", {}).get("name") if isinstance(member, dict) else None
    if name in _WGS_84_NAMES:
        return system_of_code(str(WGS_84_CODE)), True
    match = _EPSG_NAME.fullmatch(name) if isinstance(name, str) else None
    if match is None:
        raise VectorFileError("a member crs that names no EPSG code", "WGS 84, or a name such as EPSG:2277")
    return system_of_code(match[1]), False
