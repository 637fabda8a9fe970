"""The kinds of record that files of surveyed things carry, and the fields of each.

What a field may hold, and whether it must be there, is the job file's schema to say; here stand the words
that people use for it and the names that files give it.
"""

import re
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, Literal

from locates.exchange.job_file_schema import schema

FieldType = Literal["text", "operator", "choice", "flag", "length", "moment"]

LONGEST_SHORT_NAME = 10  # of a dBASE column

_UNIT_ENDINGS = re.compile(r"_(?:m|ft|feet|usft|ftus|in|inches|cm|mm|meters|metres)$")


@dataclass(frozen=True)
class VectorField:
    """One member of a record as a column of a file.

    Parameters
    ----------
    kind, name : str
        Kind and member of the job file.
    label : str
        Words for people.
    type : str
        How its text is read.
    short : str
        Name where a format allows ten letters.
    hints : tuple of str
        What files call it, without a unit at the end.
    """

    kind: str
    name: str
    label: str
    type: FieldType
    short: str
    hints: tuple[str, ...] = ()

    @cached_property
    def is_required(self) -> bool:
        """Whether the schema asks for it in every record."""
        return self.name in _properties_of(self.kind)["required"]

    @cached_property
    def choices(self) -> tuple[str, ...]:
        """What the schema lists for it; nothing where it takes other than listed words."""
        return tuple(_properties_of(self.kind)["properties"][self.name].get("enum", ()))


@dataclass(frozen=True)
class VectorKind:
    """A kind of record: its name in the job file, words, model, geometry types and fields."""

    name: str
    singular: str
    plural: str
    model: str
    fields: tuple[VectorField, ...]

    @cached_property
    def shapes(self) -> tuple[str, ...]:
        """Geometry types that the schema takes."""
        return tuple(_part_of(self.name)["properties"]["geometry"]["properties"]["type"]["enum"])

    @property
    def takes_lines(self) -> bool:
        """Whether a record may be a line."""
        return "LineString" in self.shapes

    def field(self, name: str) -> VectorField:
        """The field of a name."""
        return next(field for field in self.fields if field.name == name)


def field_of_header(kind: VectorKind, header: str) -> VectorField | None:
    """The field that a column most likely holds, by its name; None where it says nothing."""
    plain = re.sub(r"[^a-z0-9]+", "_", header.lower()).strip("_").removeprefix("ogr_")
    for field in kind.fields:
        if plain in (field.name, field.short):
            return field
    bare = _UNIT_ENDINGS.sub("", plain)
    return next((field for field in kind.fields if bare in field.hints), None)


@cache
def _part_of(kind: str) -> dict[str, Any]:
    parts = schema()["properties"]["features"]["items"]["oneOf"]
    return next(part for part in parts if part["title"] == kind)


def _properties_of(kind: str) -> dict[str, Any]:
    properties: dict[str, Any] = _part_of(kind)["properties"]["properties"]
    return properties


def _kind(
    name: str, singular: str, plural: str, model: str, *fields: tuple[str, str, FieldType, str, str]
) -> VectorKind:
    made = tuple(
        VectorField(name, member, label, type_, short, tuple(hints.split()))
        for member, label, type_, short, hints in fields
    )
    return VectorKind(name, singular, plural, model, made)


_REF_HINTS = "id number no name point point_id pointid point_no pt point_number label"
_TYPE_HINTS = "type utility facility util layer code feature_code"

KINDS: dict[str, VectorKind] = {
    kind.name: kind
    for kind in (
        _kind(
            "mark", "mark", "marks", "mark",
            ("ref", "reference", "text", "ref", f"mark mark_ref line line_id {_REF_HINTS}"),
            ("operator", "operator", "operator", "operator", "owner company utility_owner"),
            ("facility_type", "facility type", "choice", "facility", _TYPE_HINTS),
            ("marked_at", "marked at", "moment", "marked_at", "date time date_time marked painted"),
            ("ticket_number", "ticket number", "text", "ticket", "ticket_no"),
            ("stated_width_m", "stated width", "length", "width_m", "width size diameter"),
            ("stated_height_m", "stated height", "length", "height_m", "height"),
            ("stated_depth_m", "stated depth (hearsay)", "length", "depth_m", "depth"),
            ("horizontal_accuracy_m", "accuracy in plan", "length", "accuracy_m", "accuracy hrms"),
            ("located_by", "located by", "text", "located_by", "locator surveyor crew"),
            ("is_intact", "still there", "flag", "intact", "intact"),
            ("re_marked_at", "re-marked at", "moment", "re_marked", "remarked"),
        ),
        _kind(
            "test_hole", "test hole", "test holes", "testhole",
            ("ref", "reference", "text", "ref", f"hole hole_id test_hole pothole th {_REF_HINTS}"),
            ("mark_ref", "mark it is on", "text", "mark_ref", "mark line line_id"),
            ("found", "found a line", "flag", "found", "exposed hit"),
            ("depth_to_top_m", "depth to top", "length", "top_m", "depth depth_to_top top dtt cover"),
            ("dug_depth_m", "depth dug", "length", "dug_m", "dug dug_depth bottom total_depth"),
            ("outside_width_m", "outside width", "length", "width_m", "width size diameter od"),
            ("outside_height_m", "outside height", "length", "height_m", "height"),
            ("ground_elevation_m", "ground elevation", "length", "ground_m", "elevation elev z ele ground"),
            ("material", "material", "text", "material", "mat"),
            ("measured_at", "measured at", "moment", "measured", "date time date_time measured dug_on"),
            ("measured_by", "measured by", "text", "meas_by", "crew surveyor by"),
            ("measured_how", "measured how", "text", "meas_how", "method how"),
            ("error_m", "error of the measurement", "length", "error_m", "error accuracy"),
            ("is_open", "still open", "flag", "is_open", "open"),
            ("ticket_number", "ticket number", "text", "ticket", "ticket_no"),
        ),
        _kind(
            "ground_point", "ground point", "ground points", "groundpoint",
            ("elevation_m", "elevation", "length", "elev_m", "elevation elev z ele height"),
        ),
        _kind(
            "linework", "piece of linework", "linework", "linework",
            ("feature_type", "what it shows", "choice", "type", "type layer code feature_code description"),
            ("label", "label", "text", "label", "name text"),
        ),
    )
}  # fmt: skip
