"""The text of a confirmation, and what a company's patterns find in it."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any

from locates.errors import MomentError
from locates.intake.errors import TextTooLongError
from locates.intake.found_moments import moment_text
from locates.intake.patterns import make_ready
from locates.intake.text_fields import BY_NAME, TEXT_FIELDS, TextField

LONGEST_TEXT = 200_000
MOST_FOUND = 200  # operators or corners of one ticket; common practice, no source
LONGEST_SHOWN = 160


@dataclass(frozen=True)
class Finding:
    """A value, and the place where it stands.

    Attributes
    ----------
    field : TextField
    value : str
        As the ticket's form takes it; empty where it cannot be read.
    line : int
        Of the text, from 1.
    before, shown, after : str
        The line, cut about what was found.
    fault : str
        Why it cannot be read; empty where it can.
    others : int
        How many more places the pattern fits with another value, where only one is taken.
    """

    field: TextField
    value: str
    line: int
    before: str
    shown: str
    after: str
    fault: str = ""
    others: int = 0


def read_text(patterns: Mapping[str, str], text: str, time_zone: str) -> list[Finding]:
    """What patterns find in a text.

    Parameters
    ----------
    patterns : mapping of str to str
        Names of `TEXT_FIELDS` to patterns as `make_ready` takes them; an empty one finds nothing.
    text : str
    time_zone : str
        IANA name, in which moments are read.

    Returns
    -------
    list of Finding
        In the order of the fields. A pattern's group ``value``, else its first group, else all of it is the
        value. Of fields that are taken once it is the first place.

    Raises
    ------
    PatternError
        A pattern that cannot be used.
    TextTooLongError
        A text of more than `LONGEST_TEXT` characters.
    """
    if len(text) > LONGEST_TEXT:
        raise TextTooLongError(len(text), LONGEST_TEXT)
    # Of three ways to end a line, one: patterns ask for the end of a line alike.
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    findings = []
    for field in TEXT_FIELDS:
        pattern = patterns.get(field.name, "").strip()
        if pattern:
            findings += _find(field, pattern, text, time_zone)
    return findings


def _find(field: TextField, pattern: str, text: str, time_zone: str) -> list[Finding]:
    matches = list(islice(make_ready(field, pattern).finditer(text), MOST_FOUND))
    if field.kind in ("each", "corner"):
        found = [_finding(field, match, text, time_zone) for match in matches]
        # An operator that stands twice is one; corners may close where they began.
        values = [one.value for one in found]
        return [one for place, one in enumerate(found) if values.index(one.value) == place or one.fault]
    if not matches:
        return []
    different = {_value_span(match)[2] for match in matches}
    others = 0 if field.kind == "sign" else len(different) - 1
    return [_finding(field, matches[0], text, time_zone, others)]


def _value_span(match: Any) -> tuple[int, int, str]:
    """Where the value stands, and its text without blanks at its ends."""
    names = match.re.groupindex
    group = names.get("value", 0 if names or not match.re.groups else 1)
    if match.group(group) is None:
        group = 0
    start, end = match.span(group)
    return start, end, match.group(group).strip()


def _finding(field: TextField, match: Any, text: str, time_zone: str, others: int = 0) -> Finding:
    start, end, value = _value_span(match)
    fault = ""
    try:
        value = _read(field, value, match, time_zone)
    except MomentError as error:
        value, fault = "", str(error)
    head = text.rfind("\n", 0, start) + 1
    foot = text.find("\n", end)
    before, after = text[head:start], text[end : foot if foot >= 0 else len(text)]
    return Finding(
        field=field,
        value=value,
        line=text.count("\n", 0, start) + 1,
        before=before[-LONGEST_SHOWN:],
        shown=text[start:end][:LONGEST_SHOWN],
        after=after[:LONGEST_SHOWN],
        fault=fault,
        others=others,
    )


def _read(field: TextField, value: str, match: Any, time_zone: str) -> str:
    match field.kind:
        case "sign":
            return field.value
        case "moment":
            return moment_text(value, match.groupdict(), time_zone)
        case "corner":
            return f"{match.group('latitude').strip()}, {match.group('longitude').strip()}"
        case _:
            return value


def field_texts(findings: list[Finding]) -> dict[str, str | list[str]]:
    """What findings put into the ticket's form: its fields to their texts, operators as a list.

    A value that cannot be read, and signs that contradict each other, put nothing there.
    """
    texts: dict[str, str | list[str]] = {}
    doubtful = contradicted(findings)
    for finding in findings:
        name = finding.field.fills
        if finding.fault or name in doubtful:
            continue
        if finding.field.kind == "each":
            texts[name] = [*texts.get(name, []), finding.value]
        elif finding.field.kind == "corner":
            texts[name] = "\n".join(filter(None, [str(texts.get(name, "")), finding.value]))
        else:
            texts[name] = finding.value
    return texts


def contradicted(findings: list[Finding]) -> set[str]:
    """Fields of the form for which signs of different values stand in the text."""
    signs: dict[str, set[str]] = {}
    for finding in findings:
        if finding.field.kind == "sign":
            signs.setdefault(finding.field.fills, set()).add(finding.value)
    return {name for name, values in signs.items() if len(values) > 1}


def known_patterns(patterns: Mapping[str, str]) -> dict[str, str]:
    """Patterns of fields that there are, those left empty aside."""
    return {name: text.strip() for name, text in patterns.items() if name in BY_NAME and text.strip()}
