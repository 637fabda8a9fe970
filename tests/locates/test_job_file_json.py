"""Bytes that are no job file: each is refused in words that say where, at once and without harm."""

import json

import pytest

from locates.errors import JobFileError
from locates.exchange.job_file import read_job_file
from locates.exchange.json_reader import LARGEST_FILE_BYTES, check_size
from tests.job_documents import MARK, job_bytes, job_document


def refusal(raw):
    with pytest.raises(JobFileError) as refused:
        read_job_file(raw)
    return refused.value


def test_a_sound_file_is_read_as_it_stands():
    assert read_job_file(job_bytes(job_document())) == job_document()


def test_a_byte_order_mark_in_front_is_read_past():
    assert read_job_file(b"\xef\xbb\xbf" + job_bytes(job_document())) == job_document()


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "not JSON, at line 1, column 1"),
        (b"   \n\n {", "not JSON, at line 3, column 3"),
        (b"hello", "not JSON, at line 1, column 1"),
        (b"{'type': 1}", "not JSON, at line 1, column 2"),
        (b'{"type": "FeatureCollection"} trailing', "not JSON, at line 1, column 31"),
        (b'{"type": "Feature\x01"}', "not JSON"),
        (b"\xff\xfe{\x00}\x00", "not UTF-8: 0xff at byte 0"),
        (b'{"type": "\xe9"}', "not UTF-8: 0xe9 at byte 10"),
        (b"PK\x03\x04" + b"\x00" * 100, "not JSON"),
        (b"x" * (LARGEST_FILE_BYTES + 1), "33,554,433 bytes"),
    ],
)
def test_what_is_not_json_in_utf_8_is_refused_saying_where(raw, words):
    assert words in str(refusal(raw))


def test_a_hundred_megabytes_of_nonsense_are_refused_before_they_are_read():
    with pytest.raises(JobFileError, match="100,000,000 bytes; accepted: at most 33,554,432 bytes"):
        check_size(100_000_000)


@pytest.mark.parametrize(
    "raw",
    [
        b"[" * 100_000 + b"]" * 100_000,
        b"[" * 100_000,
        b'{"a":' * 100_000 + b"1" + b"}" * 100_000,
        b'{"type":"FeatureCollection","features":' + b"[" * 500 + b"]" * 500 + b"}",
        b"[" * 34 + b"]" * 34,
    ],
)
def test_json_nested_deep_is_refused(raw):
    assert "nested too deep" in str(refusal(raw))


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "1" * 5000])
def test_a_number_that_is_not_finite_is_refused_saying_where(number):
    text = json.dumps(job_document()).replace("0.114,", f"{number},")
    refused = refusal(text.encode())
    assert (refused.feature, refused.field) == (MARK, "properties.stated_width_m")
    assert str(refused).startswith("feature 1 (mark 'G-1'), field properties.stated_width_m: found ")
    assert refused.accepted == "a finite number"


def test_a_number_that_is_not_finite_outside_of_the_features_is_refused_too():
    text = json.dumps(job_document()).replace("247.5", "NaN")
    assert str(refusal(text.encode())) == "field job.mean_height_m: found NaN; accepted: a finite number"


def test_a_member_that_stands_twice_is_refused_saying_where():
    text = json.dumps(job_document()).replace('"ref": "G-1",', '"ref": "G-1", "ref": "G-2",', 1)
    refused = refusal(text.encode())
    assert (refused.feature, refused.field) == (MARK, "properties.ref")
    assert "more than once" in refused.found


@pytest.mark.parametrize("text", ["a\\u0000b", "\\ud800"])
def test_text_that_no_database_holds_is_refused(text):
    raw = json.dumps(job_document()).replace("conductive locate", text).encode()
    refused = refusal(raw)
    assert (refused.feature, refused.field) == (MARK, "properties.located_by")
    assert "NUL" in refused.accepted


def test_only_the_first_twenty_errors_are_printed_and_the_rest_counted():
    document = job_document()
    document["features"] = [{"type": "Feature"}] * 25
    refused = refusal(job_bytes(document))
    assert len(refused.errors) == 25
    assert refused.lines()[0].startswith("feature 0, field properties: found nothing")
    assert refused.lines()[20:] == [
        "and 5 more errors",
        "(features are counted from 0, in the order of the file)",
    ]


def test_the_count_of_a_hostile_file_ends_at_a_thousand():
    refused = refusal(b"[" + b"NaN," * 100_000 + b"NaN]")
    assert len(refused.errors) == 1000
    assert "and at least 980 more errors" in str(refused)


@pytest.mark.parametrize("spoil", ["type", "geometry", "id", "operator"])
def test_no_count_of_faults_lets_a_faulty_feature_through(spoil):
    """Past a thousand faults the rest of the features have not been looked at."""
    document = job_document()
    faulty = document["features"][MARK]
    faulty["properties"]["operator"] = "" if spoil == "operator" else "Marrow Gas"
    faulty |= {"id": "none"} if spoil == "id" else {}
    if spoil == "geometry":
        faulty["geometry"]["coordinates"] = [[]]
    document["features"] = [None if spoil == "type" else faulty] * 1500
    assert len(refusal(job_bytes(document)).errors) == 1000


def test_what_acts_on_a_terminal_is_not_printed_as_it_stands():
    document = job_document()
    document["features"][MARK]["properties"]["kind"] = "\x1b[2Jmark"
    document["features"][MARK]["properties"]["\x1b]0;x"] = 1
    assert "\x1b" not in str(refusal(job_bytes(document)))
