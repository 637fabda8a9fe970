"""The one-call rules that the program ships, one row a jurisdiction."""

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from locates.errors import LocatesError
from locates.units import parse_length_m

COLUMNS = (
    "state",
    "tolerance_in",
    "tolerance_basis",
    "notice_value",
    "notice_unit",
    "notice_count_rule",
    "ticket_life_value",
    "ticket_life_unit",
    "life_counted_from",
    "renewal_rule",
    "trenchless_rule",
    "citation",
    "certainty",
    "readings_agree",
    "second_reading",
    "tolerance_is_sure",
    "boring_must_be_declared",
    "every_line_must_be_exposed",
    "sewer_camera_required",
    "checked_on",
)
READINGS_AGREE = ("yes", "no", "one reading only")

_CODE = re.compile(r"[A-Z]{2}")
_INCHES = re.compile(r"[0-9]+(\.[0-9]+)?")


class RuleError(LocatesError, ValueError):
    """A row that is not a rule.

    Parameters
    ----------
    row : int
        Line of the table, the header being 1.
    column : str
        Which column, or "" for the row as a whole.
    found, accepted : str
        What stands there, and what may stand there.
    """

    def __init__(self, row: int, column: str, found: str, accepted: str) -> None:
        super().__init__(row, column, found, accepted)
        self.row = row
        self.column = column
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        place = f"row {self.row}, column {self.column}" if self.column else f"row {self.row}"
        return f"{place}: found {self.found or 'nothing'}; accepted: {self.accepted}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Rule:
    """What a jurisdiction demands; the text columns stand as they were read.

    Parameters
    ----------
    code : str
        The jurisdiction.
    checked_on : date
        When the sources were last read.
    tolerance_zone_m : float or None
        Width from the outside edge of a line; None where no width was read.
    tolerance_is_sure : bool
        Two readings agree on the width, and it was read rather than remembered.
    boring_must_be_declared, every_line_must_be_exposed, sewer_camera_required : bool
        Duties that the jurisdiction adds for trenchless work.
    readings_agree : str
        "yes", "no" or "one reading only".
    """

    code: str
    checked_on: date
    tolerance_zone_m: float | None
    tolerance_is_sure: bool
    boring_must_be_declared: bool
    every_line_must_be_exposed: bool
    sewer_camera_required: bool
    readings_agree: str
    tolerance_basis: str
    notice_value: str
    notice_unit: str
    notice_count_rule: str
    ticket_life_value: str
    ticket_life_unit: str
    life_counted_from: str
    renewal_rule: str
    trenchless_rule: str
    citation: str
    certainty: str
    second_reading: str


def read_rules(lines: Iterable[str]) -> tuple[Rule, ...]:
    """The rules of a comma-separated table.

    Parameters
    ----------
    lines : iterable of str
        The table with its header, such as an open file (``newline=""``).

    Returns
    -------
    tuple of Rule
        In the order of the table.

    Raises
    ------
    RuleError
        A header that is not `COLUMNS` in some order, a row of another length, a code that comes twice, a
        value that its column does not accept, a width called sure on which two readings do not agree.
    """
    table = csv.reader(lines, strict=True)
    header = next(table, [])
    if sorted(header) != sorted(COLUMNS):
        raise RuleError(1, "", ", ".join(header), f"the columns {', '.join(COLUMNS)}")
    rules: dict[str, Rule] = {}
    for number, values in enumerate(table, start=2):
        if len(values) != len(header):
            raise RuleError(number, "", f"{len(values)} values", f"{len(header)} values")
        rule = _rule(number, dict(zip(header, values, strict=True)))
        if rule.code in rules:
            raise RuleError(number, "state", rule.code, "each code once")
        rules[rule.code] = rule
    return tuple(rules.values())


def _rule(number: int, row: Mapping[str, str]) -> Rule:
    if not _CODE.fullmatch(row["state"]):
        raise RuleError(number, "state", row["state"], "two capital letters")
    if row["readings_agree"] not in READINGS_AGREE:
        raise RuleError(number, "readings_agree", row["readings_agree"], ", ".join(READINGS_AGREE))
    width_m = _width_m(number, row["tolerance_in"])
    is_sure = _flag(number, "tolerance_is_sure", row)
    if is_sure and (width_m is None or row["readings_agree"] != "yes"):
        raise RuleError(number, "tolerance_is_sure", "yes", "no, unless two readings agree on a width")
    return Rule(
        code=row["state"],
        checked_on=_date(number, row["checked_on"]),
        tolerance_zone_m=width_m,
        tolerance_is_sure=is_sure,
        boring_must_be_declared=_flag(number, "boring_must_be_declared", row),
        every_line_must_be_exposed=_flag(number, "every_line_must_be_exposed", row),
        sewer_camera_required=_flag(number, "sewer_camera_required", row),
        readings_agree=row["readings_agree"],
        tolerance_basis=row["tolerance_basis"],
        notice_value=row["notice_value"],
        notice_unit=row["notice_unit"],
        notice_count_rule=row["notice_count_rule"],
        ticket_life_value=row["ticket_life_value"],
        ticket_life_unit=row["ticket_life_unit"],
        life_counted_from=row["life_counted_from"],
        renewal_rule=row["renewal_rule"],
        trenchless_rule=row["trenchless_rule"],
        citation=row["citation"],
        certainty=row["certainty"],
        second_reading=row["second_reading"],
    )


def _flag(number: int, column: str, row: Mapping[str, str]) -> bool:
    found = row[column]
    if found not in {"yes", "no"}:
        raise RuleError(number, column, found, "yes or no")
    return found == "yes"


def _width_m(number: int, inches: str) -> float | None:
    if not inches:
        return None
    if not _INCHES.fullmatch(inches):
        raise RuleError(number, "tolerance_in", inches, "a number of inches, or nothing")
    return parse_length_m(f"{inches} in")


def _date(number: int, found: str) -> date:
    try:
        return date.fromisoformat(found)
    except ValueError as error:
        raise RuleError(number, "checked_on", found, "a date such as 2026-11-01") from error
