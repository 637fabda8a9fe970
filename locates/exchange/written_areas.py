"""Work areas in one cell of a table: corners with semicolons between, or well-known text."""

import re
from typing import Any

import shapely
from django.contrib.gis.geos import MultiPolygon, Polygon

from locates.errors import JobFileError, PositionError
from locates.exchange.areas import area_faults
from locates.exchange.positions import position_faults
from locates.exchange.typed_positions import read_positions

WGS_84_SRID = 4326
EXAMPLES = (
    "corners such as 38.0301 -78.4803; 38.0301 -78.4790; 38.0292 -78.4790, latitude first, or well-known "
    "text such as POLYGON ((-78.4803 38.0301, -78.4790 38.0301, -78.4790 38.0292, -78.4803 38.0301))"
)

_WELL_KNOWN = re.compile(r"\s*[a-z]", re.ASCII | re.IGNORECASE)
_AREAS = ("Polygon", "MultiPolygon")
_FEWEST_CORNERS = 3


def read_area(text: str) -> MultiPolygon:
    """The area that a person wrote.

    Raises `PositionError` or `JobFileError`, both with what was found and what is accepted.
    """
    areas = _of_well_known_text(text) if _WELL_KNOWN.match(text) else _of_corners(text)
    geometry = {"type": "MultiPolygon", "coordinates": areas}
    feature: tuple[int, dict[str, Any]] = (0, {"geometry": geometry})
    holder = {"features": [feature[1]]}
    for faults in (position_faults, area_faults):
        fault: JobFileError | None = next(iter(faults(holder, [feature])), None)
        if fault is not None:
            raise fault
    return MultiPolygon([Polygon(*rings) for rings in areas], srid=WGS_84_SRID)


def _of_well_known_text(text: str) -> list[list[list[list[float]]]]:
    try:
        shape = shapely.from_wkt(text)
    except shapely.errors.ShapelyError as error:
        raise PositionError(None, f'"{text[:60]}"', EXAMPLES) from error
    if shape.geom_type not in _AREAS or shape.is_empty:
        raise PositionError(None, f"{'an empty' if shape.is_empty else 'a'} {shape.geom_type}", EXAMPLES)
    return [
        [shapely.get_coordinates(ring).tolist() for ring in (polygon.exterior, *polygon.interiors)]
        for polygon in shapely.get_parts(shape)
    ]


def _of_corners(text: str) -> list[list[list[list[float]]]]:
    parts = read_positions(text.replace(";", "\n"))
    if not parts:
        raise PositionError(None, "no corner", EXAMPLES)
    areas = []
    for part in parts:
        corners = part[:-1] if part[0] == part[-1] else part
        if len(set(corners)) < _FEWEST_CORNERS:
            raise PositionError(
                None, f"an area of {len(set(corners))} corners", "three corners or more for each area"
            )
        areas.append([[list(corner) for corner in (*corners, corners[0])]])
    return areas
