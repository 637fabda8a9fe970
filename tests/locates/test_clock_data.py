"""The clocks of the shipped rules, held against the two readings of each row that they were written from."""

import csv
import json
import re
from dataclasses import fields, is_dataclass
from datetime import time
from pathlib import Path

import pytest

from locates.one_call.calendar import STATES, is_listed
from locates.one_call.calendar_terms import Grounds
from locates.one_call.clock_reader import read_clock
from locates.one_call.clock_terms import HOUR_UNITS, Clock, Term

FOLDER = Path(__file__).resolve().parents[2] / "locates" / "one_call"
ROWS = {
    row["state"]: row
    for row in csv.DictReader((FOLDER / "rules.csv").read_text(encoding="utf-8").splitlines())
}
RAW = json.loads((FOLDER / "clocks.json").read_text(encoding="utf-8"))
RAW_TEXT = {code: json.dumps(value) for code, value in RAW.items()}
CLOCKS: dict[str, Clock] = {code: read_clock(value) for code, value in RAW.items()}

# What a certainty field calls a part. "days" is how the second reading of two rows names a life.
WORDS_OF = {
    "notice": ("notice", "hour count", "clock", "weekend"),
    "life": ("life", "days"),
    "renewal": ("renewal", "renew"),
}
# "memory" stands in the field of these, but of something that the clock does not use.
MEMORY_OF_SOMETHING_ELSE = {
    ("VA", "notice"): "96 h extension possible (memory)",
    ("CA", "renewal"): "(hour: memory)",
}
DOUBTFUL_WORDS = ("memory", "secondary", "stale", "check", "older", "unclear")


def second(row: dict[str, str], field: str) -> str:
    """A field of the second reading; "" where it has none."""
    names = (*row, "tolerance_basis")
    found = re.search(
        rf"(?:^|; ){field}: (.*?)(?=; (?:{'|'.join(sorted(set(names)))}): |$)", row["second_reading"]
    )
    return found[1] if found else ""


def grounds_of(value: object, path: str = "") -> list[tuple[str, Grounds]]:
    """Every part of a clock that has grounds, with its path."""
    if isinstance(value, Grounds):
        return [(path, value)]
    if isinstance(value, tuple):
        return [pair for index, item in enumerate(value) for pair in grounds_of(item, f"{path}[{index}]")]
    if is_dataclass(value):
        return [
            pair
            for field in fields(value)
            for pair in grounds_of(getattr(value, field.name), f"{path}.{field.name}")
        ]
    return []


def sure_parts(part: str) -> list[str]:
    return [
        code
        for code, clock in CLOCKS.items()
        if (found := getattr(clock, part)) is not None and found.grounds.is_sure
    ]


def is_of_unit(term: Term, unit: str) -> bool:
    """Whether a term counts what a row's unit names; a bare "days" may be any days."""
    if term.unit in HOUR_UNITS:
        return unit == "hours"
    if term.unit == "calendar days":
        return unit.startswith(("calendar days", "days"))
    return unit.removeprefix("full ") in {"working days", "business days", "days"}


def test_every_rule_has_a_clock_and_nothing_else_has():
    assert sorted(CLOCKS) == sorted(ROWS)
    assert len(CLOCKS) == 32


@pytest.mark.parametrize("code", sorted(CLOCKS))
def test_every_part_says_where_it_was_read(code):
    found = grounds_of(CLOCKS[code])
    assert len(found) >= 2
    for path, grounds in found:
        assert grounds.citation.strip(), path
        assert grounds.is_sure or len(grounds.doubt) > 15, path


@pytest.mark.parametrize("code", [c for c, row in ROWS.items() if row["readings_agree"] != "yes"])
def test_a_row_on_which_two_readings_do_not_agree_has_no_part_that_is_sure_but_a_zone(code):
    # REFERENCES.md, section 1: where readings_agree is not yes, the program asks a person.
    clock = CLOCKS[code]
    assert clock.notice is not None
    sure = [path for path, grounds in grounds_of(clock) if grounds.is_sure]
    assert sure == ([".zone.grounds"] if code == "IN" else [])  # both have it that Indianapolis time counts
    if ROWS[code]["readings_agree"] == "no":
        assert "the two readings of this rule do not agree on the whole" in RAW_TEXT[code]


def test_thirteen_rows_are_not_agreed_on():
    assert [code for code, row in ROWS.items() if row["readings_agree"] != "yes"] == [
        "DE",
        "GA",
        "IA",
        "IN",
        "LA",
        "MI",
        "MO",
        "MS",
        "NV",
        "OH",
        "OK",
        "SC",
        "SD",
    ]


@pytest.mark.parametrize("part", WORDS_OF)
def test_nothing_that_a_reading_has_from_memory_is_sure(part):
    for code in sure_parts(part):
        row = ROWS[code]
        for certainty in (row["certainty"], second(row, "certainty")):
            for remembered in re.findall(r"memory(?: \(not retrieved\))?:?([^;.]*)", certainty):
                named = [word for word in WORDS_OF[part] if word in remembered]
                assert not named, (code, certainty)


def test_the_second_readings_are_told_apart_from_the_first():
    assert second(ROWS["GA"], "notice_value") == "48"
    assert second(ROWS["VA"], "certainty").endswith("re-check)")
    assert second(ROWS["IN"], "ticket_life_value") == ""


@pytest.mark.parametrize(
    ("part", "column"),
    [("notice", "notice_count_rule"), ("life", "life_counted_from"), ("renewal", "renewal_rule")],
)
def test_nothing_that_a_field_itself_doubts_is_sure(part, column):
    for code in sure_parts(part):
        for text in (ROWS[code][column], second(ROWS[code], column)):
            kept = text.replace(MEMORY_OF_SOMETHING_ELSE.get((code, part), ""), "")
            if (code, part) == ("FL", "life"):  # the doubt is the roll-over's, which is not applied
                kept = kept.replace("(roll-over from older text)", "")
                assert not CLOCKS["FL"].life.rolls_on
            assert not [word for word in DOUBTFUL_WORDS if word in kept], (code, text)


def test_a_notice_that_is_sure_has_the_figure_and_the_unit_of_both_readings():
    codes = sure_parts("notice")
    assert len(codes) == 18
    for code in codes:
        row, term = ROWS[code], CLOCKS[code].notice.term
        assert {row["notice_value"], second(row, "notice_value")} == {str(term.count)}, code
        assert is_of_unit(term, row["notice_unit"]), code
        assert is_of_unit(term, second(row, "notice_unit")), code


def test_a_life_that_is_sure_has_the_figure_and_the_unit_of_both_readings():
    codes = sure_parts("life")
    assert codes == ["AL", "CA", "CO", "FL", "KS", "NC", "NJ", "TN"]
    for code in codes:
        row, term = ROWS[code], CLOCKS[code].life.term
        assert {row["ticket_life_value"], second(row, "ticket_life_value")} == {str(term.count)}, code
        assert is_of_unit(term, row["ticket_life_unit"]), code
        assert is_of_unit(term, second(row, "ticket_life_unit")), code


@pytest.mark.parametrize(
    ("code", "words_in_both"),
    [
        ("AL", ("proposed start date", "proposed start date")),
        ("CA", ("date of issuance", "ticket issuance")),
        ("CO", ("due date of the locate request", "due date of the locate request")),
        ("FL", ("date information given", "notice date")),
        ("KS", ("excavation start date", "excavation start date")),
        ("NC", ("date the notice was given", "notice")),
        ("NJ", ("date of notification", "notification")),
        ("TN", ("start date on the notice", "start date stated on the notice")),
    ],
)
def test_a_life_that_is_sure_counts_from_what_both_readings_name(code, words_in_both):
    counted_from = {"AL": "stated start", "KS": "stated start", "TN": "stated start", "CO": "answers due"}
    first, other = words_in_both
    assert first in ROWS[code]["life_counted_from"]
    assert other in second(ROWS[code], "life_counted_from")
    assert CLOCKS[code].life.counted_from == counted_from.get(code, "call")


def test_a_life_that_a_reading_counts_from_an_hour_ends_at_that_hour_and_no_other_does():
    ends = {code: clock.life.term.end for code, clock in CLOCKS.items() if clock.life and clock.life.term}
    from_hour = {
        code
        for code in ends
        for text in (ROWS[code]["life_counted_from"], second(ROWS[code], "life_counted_from"))
        if re.search(r"\btime\b|\d\d:\d\d", text)
    }
    assert from_hour == {"MN", "MS", "VA"}
    assert (ends["MN"].at, ends["MS"].at, ends["VA"].at) == (None, None, CLOCKS["VA"].notice.begins_at)
    assert {end.day for end in ends.values()} == {"last"}
    assert {end.at for code, end in ends.items() if code not in from_hour} == {time(23, 59)}


def test_a_lead_or_a_window_that_is_sure_stands_in_the_row():
    checked = 0
    for code, clock in CLOCKS.items():
        row = ROWS[code]
        windows = " ".join(
            (row[name] + " " + second(row, name))
            for name in ("notice_count_rule", "life_counted_from", "renewal_rule", "ticket_life_value")
        )
        for deadline in clock.latest_start:
            if deadline.grounds.is_sure:
                assert deadline.term is not None
                assert re.search(rf"\b{deadline.term.count}(th)?\b", windows), code
                checked += 1
        if clock.renewal is not None and clock.renewal.grounds.is_sure:
            for count in (clock.renewal.lead.count if clock.renewal.lead else None, clock.renewal.from_day):
                if count is not None:
                    for text in (row["renewal_rule"], second(row, "renewal_rule")):
                        assert re.search(rf"\b{count}(th)?\b", text), code
                    checked += 1
    assert checked == 19


def test_silence_is_never_read_more_loosely_than_its_citation():
    sure = {code: CLOCKS[code].silence.policy for code in sure_parts("silence")}
    assert {code for code, policy in sure.items() if policy == "go_on_with_care"} == {"OR"}
    assert "OAR 952-001-0090(1)" in CLOCKS["OR"].silence.grounds.citation
    assert "pipeline" in CLOCKS["OR"].silence.words


def test_only_the_law_of_indiana_counts_in_a_zone_of_its_own():
    assert {code: clock.zone.name for code, clock in CLOCKS.items() if clock.zone} == {
        "IN": "America/Indiana/Indianapolis"
    }


@pytest.mark.parametrize("code", sorted(CLOCKS))
def test_the_holidays_are_of_the_state_itself_and_known_to_the_published_lists(code):
    holidays = CLOCKS[code].working_days.holidays
    assert holidays.state == code
    assert code in STATES
    assert all(is_listed(code, name) for name in holidays.removed)
    assert {"federal", "state"} <= {*holidays.lists, *holidays.doubtful_lists}
