"""Values that a company's patterns find in the text of a confirmation. The layout is invented."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from locates.intake.errors import PatternError, TextTooLongError
from locates.intake.patterns import LONGEST_PATTERN, make_ready
from locates.intake.text_fields import BY_NAME
from locates.intake.ticket_text import LONGEST_TEXT, contradicted, field_texts, read_text

ZONE = "America/New_York"
TEXT = """NOTICE OF EXCAVATION
Notice 26-004417 (renews 26-003901)
Received 11/24/2026 02:10 PM by R. Pell
Good through Dec 14, 2026 07:00
Trenchless: Y    White lined: N
Told: Fennick Gas
Told: Harrow Bend Water
Told: Fennick Gas
Corner 38.030125 N 78.480310 W
"""
PATTERNS = {
    "number": r"^Notice (\d\d-\d+)",
    "previous_number": r"renews (?P<value>[0-9-]+)",
    "called_by": r"by (.+)$",
    "called_at": (
        r"Received (?P<month>\d+)/(?P<day>\d+)/(?P<year>\d{4}) (?P<hour>\d+):(?P<minute>\d+) (?P<half>[AP]M)"
    ),
    "expires_at": r"through (?P<month>\w+) (?P<day>\d+), (?P<year>\d{4}) (?P<hour>\d+):(?P<minute>\d+)",
    "operator": r"^Told: (.+)$",
    "boring_declared": "Trenchless: Y",
    "boring_not_declared": "Trenchless: N",
    "not_white_lined": "White lined: N",
    "corner": r"(?P<latitude>[0-9.]+) N (?P<longitude>[0-9.]+) W",
}


def found(patterns=PATTERNS, text=TEXT):
    return read_text(patterns, text, ZONE)


def test_each_pattern_finds_its_value_and_the_line_in_which_it_stands():
    by_name = {one.field.name: one for one in found()}
    number = by_name["number"]
    assert (number.value, number.line) == ("26-004417", 2)
    assert (number.before, number.shown, number.after) == ("Notice ", "26-004417", " (renews 26-003901)")
    assert by_name["called_at"].value == "2026-11-24 02:10 PM"
    assert by_name["expires_at"].value == "2026-12-14 07:00"
    assert "boring_not_declared" not in by_name


def test_what_is_found_fills_the_fields_of_the_form():
    texts = field_texts(found())
    assert texts["operators"] == ["Fennick Gas", "Harrow Bend Water"]
    assert texts["boring_declared"] == "yes"
    assert texts["white_lined"] == "no"
    assert texts["area"] == "38.030125, 78.480310"


def test_signs_of_both_answers_leave_the_answer_open():
    findings = found(text=TEXT.replace("White lined: N", "Trenchless: N"))
    assert contradicted(findings) == {"boring_declared"}
    assert "boring_declared" not in field_texts(findings)


def test_lines_end_alike_wherever_the_text_was_written():
    assert [one.value for one in found(text=TEXT.replace("\n", "\r\n"))] == [one.value for one in found()]


def test_a_moment_in_another_order_is_not_guessed():
    (one,) = found({"called_at": r"Received ([0-9/]+ [0-9:]+)"})
    assert one.value == ""
    assert "is not a moment" in one.fault


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("3/8/2026 02:30 AM", "there is no 2:30 am"),
        ("11/1/2026 01:30 AM", "comes twice"),
        ("2/30/2026 01:30 AM", "no such day"),
        ("1/1/26 01:30 AM", "four digits"),
    ],
)
def test_a_moment_that_does_not_exist_is_not_read(text, reason):
    pattern = r"(?P<month>\d+)/(?P<day>\d+)/(?P<year>\d+) (?P<hour>\d+):(?P<minute>\d+) (?P<half>[AP]M)"
    (one,) = found({"called_at": pattern}, text)
    assert reason in one.fault
    assert "called_at" not in field_texts([one])


@pytest.mark.parametrize("month", ["\N{SUPERSCRIPT TWO}", "9" * 5000, "0", "13"])
def test_digits_that_are_no_month_are_told_and_end_nothing(month):
    pattern = r"(?P<month>\S+?)/(?P<day>\d+)/(?P<year>\d+) (?P<hour>\d+)"
    (one,) = found({"called_at": pattern}, f"{month}/1/2026 7")
    assert one.fault.endswith("is no month")
    assert one.value == ""


def test_of_two_numbers_the_first_is_taken_and_the_other_told_of():
    (one,) = found({"number": r"(\d\d-\d{6})"})
    assert (one.value, one.others) == ("26-004417", 1)


@pytest.mark.parametrize(
    ("pattern", "reason"),
    [
        ("(", "missing )"),
        (r"(a)\1", "invalid escape"),
        ("(?=a)", "invalid perl operator"),
        ("(((a{100}){100}){100})", "repetition size"),
        ("a*", "fits where nothing stands"),
        ("a" * (LONGEST_PATTERN + 1), "characters"),
        (" ", "empty"),
    ],
)
def test_a_pattern_that_cannot_be_used_is_refused_in_words(pattern, reason):
    with pytest.raises(PatternError) as refused:
        make_ready(BY_NAME["number"], pattern)
    assert reason in str(refused.value)
    assert "Accepted is" in str(refused.value)


def test_a_corner_needs_its_latitude_and_longitude_named():
    with pytest.raises(PatternError, match="latitude and longitude"):
        make_ready(BY_NAME["corner"], r"([0-9.]+), ([0-9.]+)")


def test_a_text_longer_than_any_confirmation_is_refused():
    with pytest.raises(TextTooLongError, match="at most 200,000"):
        found(text="a" * (LONGEST_TEXT + 1))


# Patterns on which a backtracking engine takes time exponential in the text ("catastrophic backtracking":
# OWASP, Regular expression Denial of Service). Python's own engine needs hours for the first; if this
# suite ends, they were linear.
@pytest.mark.parametrize("pattern", ["(a+)+$", "([a-z]+)*x$", "(a|aa)+$", "(.*a){20}x"])
def test_a_hostile_pattern_finds_nothing_and_holds_nobody_up(pattern):
    assert found({"number": pattern}, "a" * (LONGEST_TEXT - 1) + "!") == []


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60), st.text(max_size=200))
def test_any_pattern_is_used_or_refused_and_any_finding_stands_in_the_text(pattern, text):
    try:
        findings = read_text({"number": pattern}, text, ZONE)
    except PatternError:
        return
    for one in findings:
        assert one.shown in text.replace("\r\n", "\n").replace("\r", "\n")
