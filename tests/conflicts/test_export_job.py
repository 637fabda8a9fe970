"""An exported job loads again to the same records, to the last digit."""

import copy
import json
import random
from datetime import UTC, datetime

import pytest
from django.contrib.gis.geos import GEOSGeometry
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from conflicts.assess import assess
from conflicts.exchange.whole_job import export_job, load_job
from conflicts.models import Bore, Pit
from locates.exchange.job_documents import document_text
from locates.exchange.job_file_schema import schema
from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    Linework,
    Mark,
    Response,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from tests.job_documents import BORE, CURB, HOLE, MARK, TICKET, job_bytes, job_document, place, ring

AT = datetime(2026, 3, 12, 15, 0, tzinfo=UTC)

FEATURE_RECORDS = (Ticket, Mark, TestHole, SurfaceFeature, GroundPoint, Linework, Bore, Pit)
OTHER_RECORDS = (FacilityOperator, ClearanceRequirement, Response)
NOT_OF_THE_FILE = ("created_at", "changed_at", "version", "edited_at", "edited_by_id")


def bits(value):
    """A value in which two numbers or shapes are equal only if every bit is."""
    if isinstance(value, float):
        return value.hex()
    if isinstance(value, GEOSGeometry):
        return bytes(value.ewkb).hex()
    return [bits(one) for one in value] if isinstance(value, list) else value


def rows(model, *, without=()):
    left_out = {*without, *NOT_OF_THE_FILE}
    names = [field.attname for field in model._meta.concrete_fields if field.attname not in left_out]
    return sorted(([bits(value) for value in row] for row in model.objects.values_list(*names)), key=str)


def records():
    """Every record of a database that holds one job; ids that no file carries are followed by name."""
    stored = {model.__name__: rows(model) for model in FEATURE_RECORDS}
    stored["Job"] = rows(Job)
    stored["FacilityOperator"] = rows(FacilityOperator, without=("id",))
    for model, owner in ((ClearanceRequirement, "job"), (Response, "ticket"), (Mark, "job")):
        stored[f"operators of {model.__name__}"] = sorted(
            (str(one), getattr(one, owner).pk, one.operator.name if one.operator else "")
            for one in model.objects.select_related("operator", owner)
        )
    stored["Mark"] = rows(Mark, without=("operator_id",))
    stored["Response"] = rows(Response, without=("id", "operator_id"))
    stored["ClearanceRequirement"] = rows(ClearanceRequirement, without=("id", "operator_id"))
    return stored


def exported(job):
    """Through the file's text, as the command writes it."""
    return json.loads(document_text(export_job(job)))


@pytest.mark.django_db
def test_an_exported_job_loads_again_to_the_same_records():
    job = load_job(job_bytes(job_document()))
    before, document = records(), exported(job)
    again = load_job(job_bytes(document), replace=True)
    assert records() == before
    assert exported(again) == document


@pytest.mark.django_db
def test_an_exported_job_loaded_again_has_the_same_assessment_to_the_last_digit():
    job = load_job(job_bytes(job_document()))
    before = {bore.name: assess(bore, AT) for bore in job.bores.all()}
    assert before["B-1"]["crossings"]
    again = load_job(job_bytes(exported(job)), replace=True)
    assert {bore.name: assess(bore, AT) for bore in again.bores.all()} == before


@pytest.mark.django_db
def test_an_exported_job_says_all_that_its_file_said():
    """Every member of the file comes back with its value; what comes new are ids and defaults."""
    document = exported(load_job(job_bytes(job_document())))
    given_features = sorted(job_document()["features"], key=_key)
    for given_feature, feature in zip(given_features, sorted(document["features"], key=_key), strict=True):
        assert feature["geometry"] == given_feature["geometry"]
        for member, value in given_feature["properties"].items():
            assert _in_utc(feature["properties"][member]) == _in_utc(value), member
        assert feature["properties"].keys() == given_feature["properties"].keys()
    given_job = job_document()["job"]
    assert {"name": "Tallgrass Water"} in document["job"]["operators"]
    assert document["job"].keys() == given_job.keys()
    for member in given_job.keys() - {"operators", "requirements"}:
        assert document["job"][member] == given_job[member]
    assert sorted(document["job"]["requirements"], key=str) == sorted(given_job["requirements"], key=str)


def _key(feature):
    properties = feature["properties"]
    return properties["kind"], str(
        properties.get("ref") or properties.get("name") or properties.get("number")
    )


def _in_utc(value):
    """Moments of the two notations made alike; other values as they are."""
    if isinstance(value, list):
        return [_in_utc(one) for one in value]
    if isinstance(value, dict):
        return {name: _in_utc(one) for name, one in value.items()}
    offsets = {
        "2026-03-02T14:10:00-06:00": "2026-03-02T20:10:00Z",
        "2026-03-05T00:00:00-06:00": "2026-03-05T06:00:00Z",
        "2026-03-25T23:59:59-05:00": "2026-03-26T04:59:59Z",
        "2026-03-04T09:30:00.250-06:00": "2026-03-04T15:30:00.250000Z",
        "2026-03-04T09:00:00-06:00": "2026-03-04T15:00:00Z",
        "2026-03-10T08:00:00-05:00": "2026-03-10T13:00:00Z",
        "2026-03-06T10:00:00-06:00": "2026-03-06T16:00:00Z",
        "2026-03-06T11:00:00-06:00": "2026-03-06T17:00:00Z",
        "2026-03-01T12:00:00-06:00": "2026-03-01T18:00:00Z",
        "2026-03-11T08:00:00-05:00": "2026-03-11T13:00:00Z",
        "2026-03-12T17:00:00-05:00": "2026-03-12T22:00:00Z",
    }
    return offsets.get(value, value) if isinstance(value, str) else value


@pytest.mark.django_db
def test_an_exported_job_fits_the_schema():
    job = load_job(job_bytes(job_document()))
    assert list(Draft202012Validator(schema()).iter_errors(exported(job))) == []


@pytest.mark.django_db
def test_what_is_unknown_is_left_out():
    document = job_document()
    document["job"] = {"name": "Bare", "jurisdiction": "MO", "time_zone": "America/Chicago"}
    document["features"] = [document["features"][CURB]]
    del document["features"][0]["properties"]["label"]
    written = exported(load_job(job_bytes(document)))
    assert written["features"][0]["properties"] == {"kind": "linework", "feature_type": "curb"}
    assert written["job"].keys() == {
        "name",
        "organisation",
        "jurisdiction",
        "time_zone",
        "show_units",
        "uncertainty",
    }


@pytest.mark.django_db
def test_a_work_area_of_one_part_is_a_polygon_and_of_two_is_not():
    document = job_document()
    document["features"][TICKET]["geometry"] = {
        "type": "MultiPolygon",
        "coordinates": [[ring(-10, -20, 90, 20), ring(0, 10, 5, 15)]],
    }
    geometry = exported(load_job(job_bytes(document)))["features"][0]["geometry"]
    assert geometry == {"type": "Polygon", "coordinates": [ring(-10, -20, 90, 20), ring(0, 10, 5, 15)]}
    document["features"][TICKET]["geometry"]["coordinates"].append([ring(100, 0, 110, 10)])
    geometry = exported(load_job(job_bytes(document), replace=True))["features"][0]["geometry"]
    assert geometry == document["features"][TICKET]["geometry"]


@pytest.mark.django_db
def test_an_export_does_not_depend_on_the_order_of_the_file():
    first = exported(load_job(job_bytes(job_document())))
    shuffled = copy.deepcopy(first)
    random.Random(7).shuffle(shuffled["features"])  # noqa: S311 - an order, not a secret
    assert exported(load_job(job_bytes(shuffled), replace=True)) == first


@pytest.mark.django_db
def test_a_large_job_is_exported_in_few_queries(django_assert_max_num_queries):
    document = job_document()
    ticket = document["features"][TICKET]
    for number in range(60):
        twin = copy.deepcopy(ticket)
        twin["properties"]["number"] = f"T-{number}"
        document["features"].append(twin)
    job = load_job(job_bytes(document))
    with django_assert_max_num_queries(25):
        export_job(job)


sizes_m = st.floats(1e-9, 5.0, exclude_max=True)
depths_m = st.floats(0.0, 6.0)
elevations_m = st.floats(-1000.0, 9000.0)
offsets = st.floats(-90.0, 90.0)
texts = st.text(
    st.characters(exclude_categories=("Cs",), exclude_characters="\x00"), min_size=1, max_size=30
).filter(str.strip)


@st.composite
def documents(draw):
    """The small job with other figures, positions and words in it."""
    document = job_document()
    mark, hole, bore = (document["features"][index] for index in (MARK, HOLE, BORE))
    mark["properties"] |= {
        "operator": draw(texts),
        "stated_width_m": draw(sizes_m),
        "stated_depth_m": draw(depths_m),
        "located_by": draw(texts),
        "is_intact": draw(st.booleans()),
    }
    mark["geometry"]["coordinates"] = [place(draw(offsets), draw(offsets)) for _ in range(4)] + [
        place(95, 95)
    ]
    hole["properties"] |= {
        "depth_to_top_m": draw(depths_m),
        "outside_width_m": draw(sizes_m),
        "ground_elevation_m": draw(elevations_m),
        "error_m": draw(st.floats(0.0, 1e300)),
    }
    hole["geometry"]["coordinates"] = place(draw(offsets), draw(offsets))
    vertices = bore["properties"]["profile"]["vertices"]
    vertices[1] = [draw(st.floats(1e-6, 60.0)), draw(st.floats(0.0, 60.0))]
    bore["properties"]["ground"][1][1] = draw(st.floats(98.0, 103.0))
    document["job"] |= {"datum": draw(texts), "tolerance_zone_m": draw(st.floats(0.0, 10.0))}
    document["job"]["default_outside_m"]["electric"] = draw(sizes_m)
    document["job"]["uncertainty"]["slope_ratio"] = draw(st.floats(0.0, 1e300))
    document["job"]["requirements"] = [{"crossing_m": draw(depths_m), "alongside_m": draw(depths_m)}]
    return document


@pytest.mark.django_db
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(documents())
def test_any_job_comes_back_to_the_last_digit(document):
    job = load_job(job_bytes(document), replace=True)
    before, written = records(), exported(job)
    figures = assess(job.bores.get(name="B-1"), AT)
    again = load_job(job_bytes(written), replace=True)
    assert records() == before
    assert assess(again.bores.get(name="B-1"), AT) == figures
    properties = {one["properties"].get("ref"): one["properties"] for one in written["features"]}
    for index, ref in ((MARK, "G-1"), (HOLE, "TH-1")):
        for member, value in document["features"][index]["properties"].items():
            assert _in_utc(properties[ref][member]) == _in_utc(value)
