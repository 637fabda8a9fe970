"""What stood in a column of a record, as people read it: their units, their zone, names instead of keys."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib.gis.db.models import GeometryField
from django.contrib.gis.geos import GEOSGeometry, LineString, Point
from django.db import models

from locates.local_time import format_moment
from locates.models import Job
from locates.units import format_length

NOTHING = "nothing"
LONGEST = 600

Names = Mapping[tuple[type[models.Model], str], str]


def label_of(model: type[models.Model], column: str) -> str:
    """What a column is called on a form; one that the model no longer has goes by its own name."""
    field = _field(model, column)
    return column if field is None else str(field.verbose_name)


def words_of(model: type[models.Model], column: str, value: Any, job: Job, names: Names) -> str:
    """What stood there, in words.

    Parameters
    ----------
    model : type of Model
        Of the record.
    column : str
    value : JSON value
        As the event holds it.
    job : Job
        Whose units and zone are shown.
    names : mapping of model and key to name
        Of the records that keys of other records stand for.
    """
    field = _field(model, column)
    if value is None or value == "" or value == [] or value == {}:
        return NOTHING
    if isinstance(field, models.ForeignKey):
        return names.get((field.related_model, str(value)), f"a record that is gone ({value})")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field is not None and field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if isinstance(field, models.DateTimeField):
        return format_moment(datetime.fromisoformat(value), job.time_zone)
    if isinstance(field, GeometryField):
        return _shape_words(GEOSGeometry(value))
    if isinstance(field, models.BinaryField):
        return f"a file of {value['bytes']} bytes, SHA-256 {value['sha256']}"
    if isinstance(field, models.FloatField) and column.endswith("_m"):
        return f"{format_length(float(value), job.show_units)} ({value} m)"
    shown = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return shown if len(shown) <= LONGEST else f"{shown[:LONGEST]} and {len(shown) - LONGEST} characters more"


def keys_of(model: type[models.Model], row: Mapping[str, Any]) -> set[tuple[type[models.Model], str]]:
    """The records that a row names by their keys."""
    return {
        (field.related_model, str(row[field.column]))
        for field in model._meta.concrete_fields
        if isinstance(field, models.ForeignKey) and row.get(field.column) is not None
    }


def name_in(row: Mapping[str, Any]) -> str:
    """What a record calls itself, from its row alone."""
    for column in ("ref", "number", "name", "file_name", "code", "label", "end", "username"):
        if row.get(column):
            return str(row[column])
    return ""


def read_names(keys: set[tuple[type[models.Model], str]]) -> dict[tuple[type[models.Model], str], str]:
    """Names of records by model and key, a query for each model; a retired one has its name still."""
    names = {}
    for model in {model for model, _ in keys}:
        wanted = [key for one, key in keys if one is model]
        for row in model._base_manager.filter(pk__in=wanted).values():
            key = str(row[model._meta.pk.attname])
            names[model, key] = name_in(row) or f"{model._meta.verbose_name} {short(key)}"
    return names


def short(key: UUID | str) -> str:
    """The head of a key, to tell two records apart that have no name."""
    return str(key)[:8]


def _field(model: type[models.Model], column: str) -> models.Field | None:
    return next((field for field in model._meta.concrete_fields if field.column == column), None)


def _shape_words(shape: GEOSGeometry) -> str:
    if isinstance(shape, Point):
        return _place(shape.coords)
    if isinstance(shape, LineString):
        if len(shape.coords) <= 4:
            return f"line {' to '.join(map(_place, shape.coords))}"
        return f"line of {len(shape.coords)} points, {_place(shape.coords[0])} to {_place(shape.coords[-1])}"
    west, south, east, north = shape.extent
    return f"area of {shape.num_coords} corners between {_place((west, south))} and {_place((east, north))}"


def _place(position: tuple[float, ...]) -> str:
    """Latitude before longitude, to the hundred-millionth of a degree (1.1 mm)."""
    return f"{position[1]:.8f}, {position[0]:.8f}"
