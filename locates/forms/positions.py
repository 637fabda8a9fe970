"""Shapes on the ground, typed or pasted: positions line by line, or a GeoJSON geometry."""

from collections.abc import Callable, Sequence
from typing import Any

from django import forms
from django.contrib.gis.geos import GEOSGeometry, LineString, MultiPolygon, Point, Polygon

from locates.errors import PositionError
from locates.exchange.typed_positions import Position, read_positions, write_positions
from locates.forms.geometry import WGS_84_SRID, GeometryTextField
from locates.forms.shown_back import ShownBackField

HELP = "A position a line, latitude first: 38.030125, -78.480310. GeoJSON is taken as well."

Parts = list[list[Position]]


class PositionsField(ShownBackField):
    """A shape whose coordinates are typed; ``GEOMETRY`` is a line, or a point where one position is given."""

    refused_as = PositionError
    widget = forms.Textarea

    def __init__(self, *, geom_type: str = "GEOMETRY", srid: int = WGS_84_SRID, **kwargs: Any) -> None:
        kwargs.pop("max_geom_collections", None)
        kwargs["help_text"] = kwargs.get("help_text") or HELP
        super().__init__(**kwargs)
        self.widget.attrs |= {
            "rows": 2 if geom_type == "POINT" else 6,
            "spellcheck": "false",
            "autocomplete": "off",
        }
        self.geom_type = geom_type
        # GeoJSON goes through the reader that holds it against all that a job file is held against.
        self.as_geojson = GeometryTextField(geom_type=geom_type, srid=srid, required=False)

    def shown(self, value: GEOSGeometry) -> str:
        """Positions line by line; an area with a hole, which they cannot tell, as GeoJSON."""
        parts = _parts_of(value)
        return str(self.as_geojson.prepare_value(value)) if parts is None else write_positions(parts)

    def read(self, text: str) -> GEOSGeometry:
        """The shape, checked as a job file's would be."""
        if text.lstrip().startswith("{"):
            return self.as_geojson.to_python(text)
        shape = _BUILD[self.geom_type](read_positions(text))
        return self.as_geojson.to_python(self.as_geojson.prepare_value(shape))


def _parts_of(shape: GEOSGeometry) -> Sequence[Sequence[Position]] | None:
    if isinstance(shape, Point):
        return [[(shape.x, shape.y)]]
    if isinstance(shape, LineString):
        return [shape.coords]
    polygons = list(shape) if isinstance(shape, MultiPolygon) else [shape]
    if any(len(polygon) > 1 for polygon in polygons):
        return None
    return [polygon.shell.coords[:-1] for polygon in polygons]


def _point(parts: Parts) -> Point:
    if len(parts) != 1 or len(parts[0]) != 1:
        raise PositionError(None, _counted(parts), "one position")
    return Point(*parts[0][0])


def _line(parts: Parts) -> LineString:
    if len(parts) != 1 or len(parts[0]) < 2:
        raise PositionError(None, _counted(parts), "two positions or more, without a blank line between")
    return LineString(parts[0])


def _line_or_point(parts: Parts) -> GEOSGeometry:
    return _point(parts) if len(parts) == 1 and len(parts[0]) == 1 else _line(parts)


def _polygon(parts: Parts) -> Polygon:
    if len(parts) != 1:
        raise PositionError(None, _counted(parts), "the corners of one area, without a blank line between")
    return Polygon(_ring(parts[0]))


def _areas(parts: Parts) -> MultiPolygon:
    return MultiPolygon([Polygon(_ring(part)) for part in parts])


def _ring(corners: list[Position]) -> list[Position]:
    open_ring = corners[:-1] if corners[0] == corners[-1] else corners
    if len(set(open_ring)) < 3:
        raise PositionError(
            None, f"an area of {len(open_ring)} corners", "three corners or more for each area"
        )
    return [*open_ring, open_ring[0]]


def _counted(parts: Parts) -> str:
    count = sum(len(part) for part in parts)
    return f"{count} position{'' if count == 1 else 's'} in {len(parts)} part{'' if len(parts) == 1 else 's'}"


_BUILD: dict[str, Callable[[Parts], GEOSGeometry]] = {
    "POINT": _point,
    "LINESTRING": _line,
    "POLYGON": _polygon,
    "MULTIPOLYGON": _areas,
    "GEOMETRY": _line_or_point,
}
