"""Figures that no line has ask which unit was meant; figures of real jobs pass."""

import pytest

from locates.errors import JobFileError
from locates.exchange.job_file import read_job_file
from locates.exchange.job_file_schema import facility_types
from tests.job_documents import DRY_HOLE, GROUND, HOLE, MARK, job_bytes, job_document


def refusal(document):
    with pytest.raises(JobFileError) as refused:
        read_job_file(job_bytes(document))
    return refused.value


def changed(feature, member, value, facility_type="communication"):
    document = job_document()
    document["features"][MARK]["properties"]["facility_type"] = facility_type
    document["features"][feature]["properties"][member] = value
    return document


def test_a_telephone_line_55_m_deep_asks_feet_or_inches():
    refused = refusal(changed(HOLE, "depth_to_top_m", 55))
    assert str(refused.errors[0]) == (
        "feature 3 (test_hole 'TH-1'), field properties.depth_to_top_m: "
        "found 55, a communication line at a depth of 55 m: feet or inches? "
        "55 in = 1.397 m, 55 ft = 16.764 m; "
        "accepted: a number of metres, here at most 6"
    )


@pytest.mark.parametrize(
    ("feature", "member"),
    [(MARK, "stated_depth_m"), (HOLE, "depth_to_top_m"), (HOLE, "dug_depth_m"), (DRY_HOLE, "dug_depth_m")],
)
@pytest.mark.parametrize("facility_type", facility_types())
def test_every_depth_of_every_type_asks(feature, member, facility_type):
    refused = refusal(changed(feature, member, 36, facility_type))
    assert (refused.feature, refused.field) == (feature, f"properties.{member}")
    assert "feet or inches? 36 in = 0.914 m, 36 ft = 10.973 m" in refused.found


@pytest.mark.parametrize(
    ("facility_type", "depth_m"),
    [("communication", 6), ("electric", 5.9), ("sewer_drain", 15), ("unknown", 15), ("gas_oil_steam", 4)],
)
def test_a_depth_of_a_real_line_is_accepted(facility_type, depth_m):
    assert read_job_file(job_bytes(changed(HOLE, "depth_to_top_m", depth_m, facility_type)))


def test_a_hole_of_no_mark_may_be_as_deep_as_a_sewer():
    document = changed(HOLE, "depth_to_top_m", 12)
    assert refusal(document).feature == HOLE
    del document["features"][HOLE]["properties"]["mark_ref"]
    assert read_job_file(job_bytes(document))


@pytest.mark.parametrize(
    ("feature", "member"),
    [
        (MARK, "stated_width_m"),
        (MARK, "stated_height_m"),
        (HOLE, "outside_width_m"),
        (HOLE, "outside_height_m"),
    ],
)
def test_a_size_in_inches_asks(feature, member):
    refused = refusal(changed(feature, member, 6))
    assert (refused.feature, refused.field) == (feature, f"properties.{member}")
    assert "feet or inches? 6 in = 0.152 m" in refused.found
    assert read_job_file(job_bytes(changed(feature, member, 5)))


@pytest.mark.parametrize(
    ("member", "value", "field"),
    [
        ("tolerance_zone_m", 18, "tolerance_zone_m"),
        ("expose_reach_m", 36, "expose_reach_m"),
        ("default_outside_m", {"electric": 6}, "default_outside_m.electric"),
        ("requirements", [{"crossing_m": 12, "alongside_m": 1}], "requirements[0].crossing_m"),
        ("requirements", [{"crossing_m": 1, "alongside_m": 24}], "requirements[0].alongside_m"),
    ],
)
def test_a_width_of_the_job_in_inches_asks(member, value, field):
    document = job_document()
    document["job"][member] = value
    refused = refusal(document)
    assert refused.field == f"job.{field}"
    assert "feet or inches?" in refused.found


@pytest.mark.parametrize("height_m", [9001, -1001, 1e300])
def test_a_height_where_there_is_no_ground_is_refused(height_m):
    assert "no ground" in refusal(changed(GROUND, "elevation_m", height_m)).found
    assert "no ground" in refusal(changed(HOLE, "ground_elevation_m", height_m)).found
    document = job_document()
    document["job"]["mean_height_m"] = height_m
    assert refusal(document).field == "job.mean_height_m"
