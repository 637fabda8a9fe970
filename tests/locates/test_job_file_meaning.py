"""What the members of a job file must say together: names, dates, test holes, references."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from locates.errors import JobFileError
from locates.exchange.job_file import read_job_file
from locates.exchange.moments import read_moment, write_moment
from tests.job_documents import (
    CURB,
    DRY_HOLE,
    HOLE,
    MARK,
    TICKET,
    VALVE,
    WATER_MARK,
    job_bytes,
    job_document,
    with_id,
)


def refusal(document):
    with pytest.raises(JobFileError) as refused:
        read_job_file(job_bytes(document))
    return refused.value


def changed(feature, member, value):
    document = job_document()
    document["features"][feature]["properties"][member] = value
    return document


def with_job(member, value):
    document = job_document()
    document["job"][member] = value
    return document


@pytest.mark.parametrize(
    "moment",
    [
        "2026-03-05T14:10:00",
        "2026-03-05 14:10:00Z",
        "2026-03-05T14:10Z",
        "2026-03-05",
        "2026-13-05T14:10:00Z",
        "2026-02-30T14:10:00Z",
        "2026-03-05T24:10:00Z",
        "2026-03-05T23:59:60Z",
        "2026-03-05T14:10:00+25:00",
        "2026-03-05T14:10:00-0600",
        "2026-03-05T14:10:00.1234567Z",
        "0001-01-01T00:00:00+01:00",
        "9999-12-31T23:59:59-01:00",
        "\u0662026-03-05T14:10:00Z",
        "2026-W10-4T14:10:00Z",
        "next Thursday",
        "",
    ],
)
def test_a_moment_that_is_none_is_refused_with_an_example(moment):
    refused = refusal(changed(TICKET, "called_at", moment))
    assert (refused.feature, refused.field) == (TICKET, "properties.called_at")
    assert "with its offset (RFC 3339), such as 2026-03-05T14:10:00-06:00" in refused.accepted


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        # RFC 3339 section 5.8, its examples of dates that exist in UTC without a leap second
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520000, UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
        ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870000, UTC)),
        ("2026-03-05t14:10:00z", datetime(2026, 3, 5, 14, 10, tzinfo=UTC)),
    ],
)
def test_a_moment_is_read_in_utc(text, moment):
    assert read_moment(text) == moment


@given(st.datetimes(datetime(1900, 1, 1), datetime(2200, 12, 31), timezones=st.just(UTC)))
def test_a_moment_written_is_read_again_to_the_microsecond(moment):
    assert read_moment(write_moment(moment)) == moment


def test_a_moment_inside_a_response_is_checked_too():
    document = job_document()
    document["features"][TICKET]["properties"]["responses"][1]["responded_at"] = "2026-03-04"
    assert refusal(document).field == "properties.responses[1].responded_at"


@pytest.mark.parametrize(
    ("feature", "member", "value", "accepted"),
    [
        (TICKET, "legal_start_at", "2026-03-02T14:09:59-06:00", "a moment not before called_at"),
        (TICKET, "expires_at", "2026-03-05T00:00:00-06:00", "a moment after legal_start_at"),
        (TICKET, "expires_at", "2026-03-05T05:59:59Z", "a moment after legal_start_at"),
        (MARK, "re_marked_at", "2026-03-04T14:59:59Z", "a moment not before marked_at"),
    ],
)
def test_dates_out_of_order_are_refused(feature, member, value, accepted):
    refused = refusal(changed(feature, member, value))
    assert (refused.feature, refused.field, refused.found) == (feature, f"properties.{member}", value)
    assert refused.accepted.startswith(accepted)


def test_a_ticket_without_a_legal_start_may_not_expire_before_it_was_called():
    document = changed(TICKET, "expires_at", "2026-03-02T14:10:00-06:00")
    del document["features"][TICKET]["properties"]["legal_start_at"]
    assert refusal(document).accepted.startswith("a moment after called_at")


def test_a_ticket_may_start_at_the_moment_of_its_call():
    assert read_job_file(job_bytes(changed(TICKET, "legal_start_at", "2026-03-02T20:10:00Z")))


def test_a_test_hole_that_found_a_line_needs_its_depth():
    document = job_document()
    del document["features"][HOLE]["properties"]["depth_to_top_m"]
    refused = refusal(document)
    assert (refused.feature, refused.field, refused.found) == (HOLE, "properties.depth_to_top_m", "nothing")


def test_a_test_hole_that_found_nothing_needs_the_depth_dug():
    document = job_document()
    del document["features"][DRY_HOLE]["properties"]["dug_depth_m"]
    refused = refusal(document)
    assert (refused.feature, refused.field, refused.found) == (DRY_HOLE, "properties.dug_depth_m", "nothing")


@pytest.mark.parametrize(
    ("feature", "like", "members"),
    [
        (MARK, MARK, {"ref": "G-1"}),
        (HOLE, HOLE, {"ref": "TH-1"}),
        (TICKET, TICKET, {"number": "T-1001"}),
        (VALVE, VALVE, {"ref": "V-1"}),
    ],
)
def test_a_name_that_stands_twice_is_refused(feature, like, members):
    document = job_document()
    twin = job_document()["features"][like]
    twin["properties"] |= members
    document["features"].append(twin)
    refused = refusal(document)
    member, name = next(iter(members.items()))
    assert (refused.feature, refused.field) == (len(document["features"]) - 1, f"properties.{member}")
    assert refused.found == f'"{name}" (text), which feature {feature} has already'


def test_an_operator_described_twice_is_refused():
    refused = refusal(with_job("operators", [{"name": "Marrow Gas"}, {"name": "Marrow Gas"}]))
    assert (refused.field, refused.accepted) == ("job.operators[1]", "one; operators[0] is it already")


def test_two_requirements_for_the_same_operator_and_type_are_refused():
    same = {"facility_type": "electric", "crossing_m": 0.3, "alongside_m": 0.3}
    refused = refusal(with_job("requirements", [same, {"crossing_m": 1, "alongside_m": 1}, same]))
    assert (refused.field, refused.accepted) == ("job.requirements[2]", "one; requirements[0] is it already")


@pytest.mark.parametrize(
    ("feature", "member", "value", "nearest"),
    [
        (MARK, "ticket_number", "T-1002", "perhaps T-1001; "),
        (HOLE, "ticket_number", "none", ""),
        (HOLE, "mark_ref", "G-2", "perhaps G-1"),
        (VALVE, "explained_by_mark_ref", "G1", "perhaps G-1"),
        (HOLE, "mark_ref", "TH-2", ""),
    ],
)
def test_a_reference_to_what_is_not_in_the_file_is_refused(feature, member, value, nearest):
    refused = refusal(changed(feature, member, value))
    assert (refused.feature, refused.field) == (feature, f"properties.{member}")
    assert refused.found.startswith(f'"{value}" (text), which no ')
    assert refused.accepted.startswith(nearest)


def test_a_previous_ticket_may_be_of_an_earlier_job():
    assert read_job_file(job_bytes(changed(TICKET, "previous_number", "T-0001")))


def test_a_requirement_for_an_operator_whom_nothing_names_is_refused():
    requirement = {"operator": "Marow Gas", "crossing_m": 1, "alongside_m": 1}
    refused = refusal(with_job("requirements", [requirement]))
    assert refused.field == "job.requirements[0].operator"
    assert refused.accepted.startswith("perhaps Marrow Gas; ")


@pytest.mark.parametrize(
    "zone", ["Central", "America", "../etc/passwd", "/etc/localtime", "localtime", "UTC+6", "CST6"]
)
def test_a_time_zone_that_is_none_is_refused(zone):
    refused = refusal(with_job("time_zone", zone))
    assert refused.field == "job.time_zone"
    assert "an IANA time zone, such as America/Chicago" in refused.accepted


def test_an_unknown_facility_type_of_a_default_size_is_refused():
    refused = refusal(with_job("default_outside_m", {"gas": 0.1, "elektric": 0.1}))
    assert [error.field for error in refused.errors] == [
        "job.default_outside_m.gas",
        "job.default_outside_m.elektric",
    ]
    assert refused.errors[1].accepted.startswith("perhaps electric; ")


@pytest.mark.parametrize("member", ["name", "organisation", "jurisdiction", "time_zone"])
def test_a_blank_name_of_the_job_is_refused(member):
    refused = refusal(with_job(member, " \t"))
    assert [(error.field, error.accepted) for error in refused.errors] == [
        (f"job.{member}", "text that is not blank")
    ]


@pytest.mark.parametrize(
    ("feature", "member"),
    [
        (TICKET, "number"),
        (MARK, "ref"),
        (MARK, "operator"),
        (HOLE, "ref"),
        (VALVE, "ref"),
        (HOLE, "mark_ref"),
    ],
)
def test_a_blank_or_long_name_of_a_feature_is_refused(feature, member):
    assert refusal(changed(feature, member, "")).accepted == "text that is not blank"
    refused = refusal(changed(feature, member, "x" * 201))
    assert (refused.field, refused.accepted) == (f"properties.{member}", "at most 200 characters")


@pytest.mark.parametrize(
    "text",
    ["", "7", "{00000000-0000-4000-8000-000000000001}", "urn:uuid:00000000-0000-4000-8000-000000000001",
     "00000000000040008000000000000001", "00000000-0000-4000-8000-00000000000g"],
)  # fmt: skip
def test_an_id_that_is_no_uuid_is_refused(text):
    document = job_document()
    document["features"][MARK]["id"] = text
    refused = refusal(document)
    assert (refused.feature, refused.field) == (MARK, "id")
    assert "a UUID" in refused.accepted


def test_an_id_that_stands_twice_is_refused_whatever_its_letters_case():
    document = job_document()
    document["features"][MARK]["id"] = "abcdef00-0000-4000-8000-000000000001"
    document["features"][CURB]["id"] = "ABCDEF00-0000-4000-8000-000000000001"
    refused = refusal(document)
    assert (refused.feature, refused.field) == (CURB, "id")
    assert "which feature 1 has already" in refused.found


def test_ids_that_differ_are_accepted():
    document = job_document()
    document["features"][MARK]["id"] = with_id(1)
    document["features"][WATER_MARK]["id"] = with_id(2)
    assert read_job_file(job_bytes(document)) == document
