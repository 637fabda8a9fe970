"""The admin's text box for geometry takes GeoJSON and says what is wrong with anything else."""

import json

import pytest
from django.core.exceptions import ValidationError

from locates.forms.geometry import GeometryTextField
from tests import factories

BOW_TIE = [[[-78.5, 38.0], [-78.4, 38.1], [-78.4, 38.0], [-78.5, 38.1], [-78.5, 38.0]]]


def text(kind, coordinates):
    return json.dumps({"type": kind, "coordinates": coordinates})


@pytest.mark.parametrize(
    "shape",
    [
        factories.point(3, 4),
        factories.line((0, 0), (10.123456789, 3.3), (20, 0)),
        factories.box(0, 0, 5, 5),
        factories.TicketFactory.build(job=None).area,
    ],
)
def test_a_stored_geometry_comes_back_to_the_last_digit(shape):
    field = GeometryTextField()
    again = field.clean(field.prepare_value(shape))
    assert again.equals_exact(shape)
    assert (again.geom_type, again.srid) == (shape.geom_type, 4326)
    assert not field.has_changed(shape, f"  {field.prepare_value(shape)} ")
    assert field.has_changed(shape, text("Point", [-78.5, 38.25]))
    assert field.has_changed(shape, "nothing of the kind")


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("POINT(-78.5 38)", "what is not JSON"),
        ("[" * 3000, "nested too deep"),
        ("[1, 2]", "list"),
        ('{"type": "Point"}', "accepted: a GeoJSON geometry such as"),
        (text("Circle", [0, 0]), "accepted: the type Point or LineString or Polygon or MultiPolygon"),
        (text(["Point"], [0, 0]), "accepted: the type"),
        (text("Point", ["-78.5", "38"]), "accepted: two numbers"),
        ('{"type": "Point", "coordinates": [NaN, 38]}', "found NaN"),
        (text("Point", [38.0, -178.5]), "swapped"),
        (text("Point", [-78.5, 38.0, 2.0]), "three numbers"),
        (text("LineString", []), "an empty list"),
        (text("LineString", [[-78.5, 38.0], [-78.5, 38.0]]), "one distinct position"),
        (text("Polygon", [[[-78.5, 38.0], [-78.4, 38.0], [-78.4, 38.1], [-78.5, 38.1]]]), "an open ring"),
        (text("Polygon", BOW_TIE), "crosses itself"),
        (text("MultiPolygon", [BOW_TIE]), "crosses itself"),
        ("", "required"),
    ],
)
def test_what_is_no_geometry_is_refused_in_words(written, found):
    with pytest.raises(ValidationError) as caught:
        GeometryTextField().clean(written)
    assert found in " ".join(caught.value.messages)


def test_a_column_of_one_type_takes_that_type_alone():
    assert GeometryTextField(geom_type="POINT").clean(text("Point", [-78.5, 38.0])).coords == (-78.5, 38.0)
    with pytest.raises(ValidationError, match="accepted: the type LineString"):
        GeometryTextField(geom_type="LINESTRING").clean(text("Point", [-78.5, 38.0]))


def test_nothing_is_taken_where_nothing_is_required():
    assert GeometryTextField(required=False).clean("") is None
