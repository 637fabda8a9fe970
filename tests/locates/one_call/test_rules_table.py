"""The table of one-call rules that the program ships, and what is no rule."""

from datetime import date
from pathlib import Path

import pytest

from locates.one_call import rules
from locates.one_call.rules import COLUMNS, Rule, RuleError, read_rules

TABLE = Path(rules.__file__).with_name("rules.csv")
SOUND = {
    "state": "ZZ",
    "tolerance_in": "24",
    "tolerance_basis": "from the outside edge, each side",
    "readings_agree": "yes",
    "tolerance_is_sure": "yes",
    "boring_must_be_declared": "no",
    "every_line_must_be_exposed": "no",
    "sewer_camera_required": "yes",
    "checked_on": "2026-11-01",
}


def table(*rows):
    """The lines of a table with these values beside the sound ones."""
    lines = [",".join(COLUMNS)]
    for row in rows:
        values = SOUND | row
        lines.append(",".join(f'"{values.get(column, "")}"' for column in COLUMNS))
    return lines


@pytest.fixture(scope="module")
def shipped() -> dict[str, Rule]:
    with TABLE.open(newline="", encoding="utf-8") as lines:
        return {rule.code: rule for rule in read_rules(lines)}


def test_a_row_becomes_a_rule_in_metres():
    (rule,) = read_rules(table({}))
    assert rule.code == "ZZ"
    assert rule.tolerance_zone_m == 0.6096  # 24 in of 0.0254 m, exactly
    assert rule.tolerance_is_sure is True
    assert rule.boring_must_be_declared is False
    assert rule.sewer_camera_required is True
    assert rule.checked_on == date(2026, 11, 1)
    assert rule.notice_value == ""


def test_a_width_that_was_not_read_is_unknown():
    (rule,) = read_rules(table({"tolerance_in": "", "tolerance_is_sure": "no"}))
    assert rule.tolerance_zone_m is None


@pytest.mark.parametrize(
    ("column", "found", "accepted"),
    [
        ("state", "Virginia", "two capital letters"),
        ("state", "va", "two capital letters"),
        ("tolerance_in", "24 in", "a number of inches"),
        ("tolerance_in", "-24", "a number of inches"),
        ("tolerance_in", "nan", "a number of inches"),
        ("readings_agree", "mostly", "yes, no, one reading only"),
        ("sewer_camera_required", "", "yes or no"),
        ("boring_must_be_declared", "True", "yes or no"),
        ("every_line_must_be_exposed", "?", "yes or no"),
        ("checked_on", "11/01/2026", "a date such as 2026-11-01"),
    ],
)
def test_a_value_that_its_column_does_not_take_is_named(column, found, accepted):
    with pytest.raises(RuleError) as caught:
        read_rules(table({"state": "YY"}, {column: found}))
    assert (caught.value.row, caught.value.column, caught.value.found) == (3, column, found)
    assert accepted in str(caught.value)


@pytest.mark.parametrize("row", [{"readings_agree": "no"}, {"tolerance_in": ""}])
def test_a_width_is_sure_only_where_two_readings_agree_on_one(row):
    with pytest.raises(RuleError, match="unless two readings agree"):
        read_rules(table(row))


def test_a_code_comes_once():
    with pytest.raises(RuleError, match="row 3, column state: found ZZ; accepted: each code once"):
        read_rules(table({}, {}))


def test_a_row_that_is_short_is_refused():
    with pytest.raises(RuleError, match=f"row 2: found 2 values; accepted: {len(COLUMNS)} values"):
        read_rules([",".join(COLUMNS), "ZZ,24"])


@pytest.mark.parametrize("header", [[], ["state,tolerance_in"], [",".join([*COLUMNS, "more"])]])
def test_another_header_is_refused(header):
    with pytest.raises(RuleError, match="row 1"):
        read_rules(header)


def test_the_shipped_table_holds_thirty_two_states(shipped):
    assert sorted(shipped) == (
        [
            "AL",
            "AZ",
            "CA",
            "CO",
            "DE",
            "FL",
            "GA",
            "IA",
            "IL",
            "IN",
            "KS",
            "LA",
            "MD",
            "MI",
            "MN",
            "MO",
            "MS",
            "NC",
            "NJ",
            "NV",
            "NY",
            "OH",
            "OK",
            "OR",
            "PA",
            "SC",
            "SD",
            "TN",
            "TX",
            "VA",
            "WA",
            "WI",
        ]
    )


def test_a_shipped_width_is_sure_only_where_it_was_read_twice(shipped):
    sure = {code for code, rule in shipped.items() if rule.tolerance_is_sure}
    assert sure == {"AZ", "CA", "CO", "FL", "MD", "NJ", "OR", "PA", "TX", "VA", "WI"}


# Sources: Va. Code 56-265.15 and 16 TAC 18.2 for the widths; 20VAC5-309-150, RSMo 319.026 and 319.037,
# 220 ILCS 50/4, ARSD 20:25:03:04 for the duties.
@pytest.mark.parametrize(
    ("code", "width_m", "is_sure", "declared", "exposed", "camera"),
    [
        ("VA", 0.6096, True, False, True, True),
        ("TX", 0.4572, True, False, False, False),
        ("MO", 0.6096, False, True, True, False),
        ("MI", 0.4572, False, False, False, False),
        ("IL", 0.4572, False, True, False, False),
        ("SD", 0.4572, False, True, False, False),
    ],
)
def test_shipped_rules_say_what_was_read(shipped, code, width_m, is_sure, declared, exposed, camera):
    rule = shipped[code]
    assert rule.tolerance_zone_m == width_m
    assert rule.tolerance_is_sure is is_sure
    assert rule.boring_must_be_declared is declared
    assert rule.every_line_must_be_exposed is exposed
    assert rule.sewer_camera_required is camera


def test_every_shipped_rule_has_its_citation_and_the_day_it_was_read(shipped):
    for rule in shipped.values():
        assert rule.citation
        assert rule.checked_on == date(2026, 11, 1)
