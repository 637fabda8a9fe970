"""What departs from the schema is told by feature, field, what was found and what is accepted."""

import json

import pytest
from jsonschema import Draft202012Validator

from locates.errors import JobFileError
from locates.exchange.job_file import read_job_file
from locates.exchange.job_file_schema import SCHEMA_FILE, facility_types, kinds, schema
from locates.exchange.record_rules import LONGEST_NAME
from locates.models import (
    FacilityOperator,
    FacilityType,
    Job,
    Mark,
    Organisation,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from tests.job_documents import (
    BORE,
    DRY_HOLE,
    GROUND,
    HOLE,
    MARK,
    PIT,
    TICKET,
    VALVE,
    job_bytes,
    job_document,
)


def refusal(document):
    with pytest.raises(JobFileError) as refused:
        read_job_file(job_bytes(document))
    return refused.value


def changed(feature, member, value):
    document = job_document()
    document["features"][feature]["properties"][member] = value
    return document


def test_the_schema_is_itself_a_sound_schema():
    Draft202012Validator.check_schema(json.loads(SCHEMA_FILE.read_text()))


def test_a_sound_file_fits_the_whole_schema():
    assert list(Draft202012Validator(schema()).iter_errors(job_document())) == []


def test_the_kinds_and_types_are_those_of_the_records():
    assert kinds() == (
        "ticket",
        "mark",
        "test_hole",
        "surface_feature",
        "ground_point",
        "linework",
        "bore",
        "pit",
    )
    assert list(facility_types()) == FacilityType.values


@pytest.mark.parametrize(
    "document",
    [
        [],
        5,
        "FeatureCollection",
        None,
        {},
        {"type": "Feature"},
        {"type": "Topology", "features": []},
        {"type": 1},
    ],
)
def test_what_is_no_feature_collection_is_refused(document):
    refused = refusal(document)
    assert (refused.feature, refused.field) == (None, "type")
    assert "FeatureCollection" in refused.accepted


@pytest.mark.parametrize("version", [0, 2, "1", None, True, 1.5])
def test_another_schema_version_is_refused(version):
    document = job_document()
    document["schema_version"] = version
    refused = refusal(document)
    assert (refused.field, refused.accepted) == ("schema_version", "1")


@pytest.mark.parametrize(
    ("member", "found"), [("schema_version", "nothing"), ("job", "nothing"), ("features", "nothing")]
)
def test_a_file_without_one_of_its_parts_is_refused(member, found):
    document = job_document()
    del document[member]
    refused = refusal(document)
    assert (refused.field, refused.found) == (member, found)


@pytest.mark.parametrize("features", [None, {}, "none", 3])
def test_features_that_are_no_list_are_refused(features):
    document = job_document()
    document["features"] = features
    assert refusal(document).field == "features"


@pytest.mark.parametrize("feature", [None, [], "mark", 7, {}, {"type": "feature"}])
def test_what_is_no_feature_is_refused(feature):
    document = job_document()
    document["features"][MARK] = feature
    refused = refusal(document)
    assert (refused.feature, refused.accepted) == (MARK, '"Feature"')


@pytest.mark.parametrize(
    ("kind", "nearest"),
    [
        ("marks", "perhaps mark; "),
        ("testhole", "perhaps test_hole; "),
        (7, ""),
        (None, ""),
        ("mark ", "perhaps mark; "),
    ],
)
def test_an_unknown_kind_is_refused_with_the_nearest_name(kind, nearest):
    refused = refusal(changed(MARK, "kind", kind))
    assert (refused.feature, refused.field) == (MARK, "properties.kind")
    assert refused.accepted.startswith(f"{nearest}one of ticket, mark, test_hole")


def test_a_feature_without_a_kind_is_refused():
    document = job_document()
    del document["features"][MARK]["properties"]["kind"]
    assert refusal(document).found == "nothing"


@pytest.mark.parametrize(
    ("feature", "member", "nearest"),
    [
        (MARK, "stated_width", "stated_width_m"),
        (HOLE, "depth_to_top_ft", "depth_to_top_m"),
        (BORE, "final_diameter", "final_diameter_m"),
        (TICKET, "expire_at", "expires_at"),
    ],
)
def test_an_unknown_member_is_refused_with_the_nearest_names(feature, member, nearest):
    refused = refusal(changed(feature, member, 4))
    assert (refused.feature, refused.field) == (feature, f"properties.{member}")
    assert refused.found == "an unknown member"
    assert nearest in refused.accepted.split(";")[0]


@pytest.mark.parametrize("member", ["bbox", "colour"])
def test_an_unknown_member_beside_the_properties_is_refused(member):
    document = job_document()
    document["features"][MARK][member] = 1
    document["features"][HOLE]["geometry"][member] = 1
    document[member] = 1
    fields = [(error.feature, error.field) for error in refusal(document).errors]
    assert fields == [(None, member), (MARK, member), (HOLE, f"geometry.{member}")]


@pytest.mark.parametrize(
    ("feature", "member"),
    [
        (TICKET, "number"),
        (TICKET, "called_at"),
        (MARK, "ref"),
        (MARK, "operator"),
        (MARK, "facility_type"),
        (HOLE, "found"),
        (HOLE, "measured_at"),
        (VALVE, "feature_type"),
        (GROUND, "elevation_m"),
        (BORE, "final_diameter_m"),
        (PIT, "bore_name"),
    ],
)
def test_a_missing_field_is_refused(feature, member):
    document = job_document()
    del document["features"][feature]["properties"][member]
    refused = refusal(document)
    assert (refused.feature, refused.field, refused.found) == (feature, f"properties.{member}", "nothing")


def test_a_missing_field_of_the_job_is_refused():
    document = job_document()
    del document["job"]["time_zone"]
    assert str(refusal(document)) == "field job.time_zone: found nothing; accepted: text"


def test_a_number_as_text_is_told_in_full():
    refused = refusal(changed(MARK, "stated_width_m", "4"))
    assert str(refused.errors[0]) == (
        "feature 1 (mark 'G-1'), field properties.stated_width_m: "
        'found "4" (text); accepted: a number of metres greater than 0'
    )
    assert refused.lines()[-1] == "(features are counted from 0, in the order of the file)"


@pytest.mark.parametrize(
    ("feature", "member", "value", "found", "accepted"),
    [
        (HOLE, "depth_to_top_m", True, "true", "a number of metres, 0 or more"),
        (HOLE, "depth_to_top_m", "1.2", '"1.2" (text)', "a number of metres, 0 or more"),
        (HOLE, "depth_to_top_m", -0.1, "-0.1", "a number of metres, 0 or more"),
        (HOLE, "depth_to_top_m", None, "null", "a number of metres, 0 or more"),
        (HOLE, "depth_to_top_m", [1.2], "a list of 1", "a number of metres, 0 or more"),
        (HOLE, "found", 1, "1", "true or false"),
        (HOLE, "found", "yes", '"yes" (text)', "true or false"),
        (HOLE, "outside_width_m", 0, "0", "a number of metres greater than 0"),
        (MARK, "ref", 7, "7", "text"),
        (GROUND, "elevation_m", "99", '"99" (text)', "a number of metres"),
        (BORE, "rig", [], "a list of 0", "an object"),
        (BORE, "profile", {"by": "depth"}, "nothing", "a list of at least 2"),
        (BORE, "profile", {"by": "depth", "vertices": [[0, 0]]}, "a list of 1", "a list of at least 2"),
        (BORE, "ground", [[0, 1, 2]], "a list of 3", "a list of exactly 2 numbers"),
        (BORE, "ground", [[0]], "a list of 1", "a list of exactly 2 numbers"),
        (BORE, "ground", [], "a list of 0", "a list of at least 1"),
        (BORE, "ground", [[-1, 0]], "-1", "a number, 0 or more"),
    ],
)
def test_a_value_of_another_type_or_out_of_bounds_is_refused(feature, member, value, found, accepted):
    refused = refusal(changed(feature, member, value)).errors[0]
    assert refused.feature == feature
    assert refused.field.startswith(f"properties.{member}")
    assert (refused.found, refused.accepted) == (found, accepted)


def test_a_word_that_is_none_of_the_choices_is_refused_with_the_nearest():
    refused = refusal(changed(MARK, "facility_type", "potable water"))
    assert refused.accepted == f"perhaps potable_water; one of {', '.join(facility_types())}"


def test_a_fault_deep_inside_is_told_by_its_path():
    document = job_document()
    document["features"][TICKET]["properties"]["responses"][1]["response"] = "cleared"
    assert refusal(document).field == "properties.responses[1].response"


@pytest.mark.parametrize("geometry", [None, {}, [], {"type": "LineString"}, {"coordinates": [1, 2]}])
def test_a_feature_without_a_geometry_is_refused(geometry):
    document = job_document()
    document["features"][DRY_HOLE]["geometry"] = geometry
    assert refusal(document).field.startswith("geometry")


def test_a_geometry_of_another_type_is_refused():
    document = job_document()
    document["features"][MARK]["geometry"]["type"] = "MultiLineString"
    refused = refusal(document)
    assert (refused.field, refused.accepted) == (
        "geometry.type",
        "perhaps LineString; one of LineString, Point",
    )


def test_every_fault_of_a_file_is_told_in_the_order_of_its_features():
    document = changed(PIT, "end", "left")
    document["features"][TICKET]["properties"]["called_at"] = "yesterday"
    document["features"][MARK]["properties"]["stated_width_m"] = "4"
    document["features"][HOLE]["geometry"]["coordinates"] = [39.0, -93.5]
    document["job"]["time_zone"] = "Central"
    features = [error.feature for error in refusal(document).errors]
    assert features == [None, TICKET, MARK, HOLE, PIT]


@pytest.mark.parametrize(
    ("model", "member"),
    [
        (Job, "name"),
        (Organisation, "name"),
        (FacilityOperator, "name"),
        (Ticket, "number"),
        (Ticket, "previous_number"),
        (Mark, "ref"),
        (TestHole, "ref"),
        (SurfaceFeature, "ref"),
    ],
)
def test_the_longest_name_is_what_the_columns_hold(model, member):
    assert model._meta.get_field(member).max_length == LONGEST_NAME
