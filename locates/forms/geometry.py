"""Geometry as the text of a GeoJSON geometry: needs no script, reaches no tile server and not GDAL."""

import json
from typing import Any, ClassVar

from django import forms
from django.contrib.gis.db.models import GeometryField
from django.contrib.gis.geos import GEOSGeometry, LineString, MultiPolygon, Point, Polygon
from django.core.exceptions import ValidationError

from locates.errors import JobFileError
from locates.exchange.areas import area_faults
from locates.exchange.json_reader import read_json
from locates.exchange.positions import position_faults
from locates.exchange.whereabouts import show

WGS_84_SRID = 4326
SHAPES = ("Point", "LineString", "Polygon", "MultiPolygon")
EXAMPLE = '{"type": "Point", "coordinates": [-78.5, 38.0]}'


class GeometryTextField(forms.Field):
    """A text box that takes a GeoJSON geometry and refuses what a job file would refuse."""

    widget = forms.Textarea(attrs={"rows": 5, "spellcheck": "false"})
    default_error_messages: ClassVar = {"geometry": "found %(found)s; accepted: %(accepted)s"}

    def __init__(self, *, geom_type: str = "GEOMETRY", srid: int = WGS_84_SRID, **kwargs: Any) -> None:
        # Django's bound on collections inside of collections; no collection is taken here at all.
        kwargs.pop("max_geom_collections", None)
        kwargs["help_text"] = kwargs.get("help_text") or (
            f"A GeoJSON geometry, longitude and latitude in degrees of WGS 84, such as {EXAMPLE}"
        )
        super().__init__(**kwargs)
        self.srid = srid
        self.takes_many = geom_type == "MULTIPOLYGON"
        self.shapes = tuple(shape for shape in SHAPES if geom_type in ("GEOMETRY", shape.upper()))
        if "MultiPolygon" in self.shapes and "Polygon" not in self.shapes:
            self.shapes += ("Polygon",)

    def prepare_value(self, value: Any) -> Any:
        """The text of a stored geometry, to the last digit."""
        if isinstance(value, GEOSGeometry):
            return json.dumps({"type": value.geom_type, "coordinates": value.coords})
        return value

    def to_python(self, value: Any) -> GEOSGeometry | None:
        """The geometry that the text describes."""
        if value in self.empty_values:
            return None
        try:
            return self._geometry(read_json(str(value).encode()))
        except JobFileError as error:
            raise self._refusal(error.found, error.accepted) from error

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether the text describes another geometry than the stored one, however it is spaced."""
        try:
            return self.to_python(data) != self.to_python(self.prepare_value(initial))
        except ValidationError:
            return True

    def _geometry(self, document: Any) -> GEOSGeometry:
        if not isinstance(document, dict) or set(document) != {"type", "coordinates"}:
            raise self._refusal(show(document), f"a GeoJSON geometry such as {EXAMPLE}")
        if document["type"] not in self.shapes:
            raise self._refusal(show(document["type"]), f"the type {' or '.join(self.shapes)}")
        feature = (0, {"geometry": document})
        holder = {"features": [feature[1]]}
        for faults in (position_faults, area_faults):
            fault = next(iter(faults(holder, [feature])), None)
            if fault is not None:
                raise fault
        shape = _shape(document["type"], document["coordinates"])
        if isinstance(shape, Polygon) and self.takes_many:
            shape = MultiPolygon(shape)
        shape.srid = self.srid
        return shape

    def _refusal(self, found: str, accepted: str) -> ValidationError:
        return ValidationError(
            self.error_messages["geometry"], code="geometry", params={"found": found, "accepted": accepted}
        )


GEOMETRY_AS_TEXT = {GeometryField: {"form_class": GeometryTextField}}
"""For an admin class's ``formfield_overrides``."""


def _shape(kind: str, coordinates: Any) -> GEOSGeometry:
    match kind:
        case "Point":
            return Point(coordinates)
        case "LineString":
            return LineString(coordinates)
        case "Polygon":
            return Polygon(*coordinates)
        case _:
            return MultiPolygon(*(Polygon(*rings) for rings in coordinates))
