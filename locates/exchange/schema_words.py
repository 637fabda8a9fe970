"""What a part of a JSON schema accepts, in the words of an error."""

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

MOMENT_WORDS = "a date and time with its offset (RFC 3339), such as 2026-03-05T14:10:00-06:00"

# A guess is a courtesy: it is not worth comparing long texts, or each of many with each of many.
LONGEST_GUESSED = 100
MOST_COMPARED = 1000

_UNITS = {
    "_m": "a number of metres",
    "_rad": "a number of radians",
    "_ratio": "a ratio",
    "_ratio_min": "a ratio, rise over run",
    "_ratio_max": "a ratio, rise over run",
}
_PLAIN_TYPES = {"string": "text", "boolean": "true or false", "array": "a list", "object": "an object"}


def accepted_words(rule: dict[str, Any], name: str) -> str:
    """What a part of the schema accepts.

    Parameters
    ----------
    rule : dict
        Part of the schema.
    name : str
        Member that it describes; the end of the name tells the unit.

    Returns
    -------
    str
        Such as ``a number of metres greater than 0``.
    """
    if "const" in rule:
        return f'"{rule["const"]}"' if isinstance(rule["const"], str) else str(rule["const"])
    if "enum" in rule:
        return f"one of {listed(rule['enum'])}"
    if rule.get("format") == "date-time":
        return MOMENT_WORDS
    kind = rule.get("type", "")
    if kind == "number":
        return _number_words(rule, name)
    if kind == "object" and name == "geometry":
        return f"a geometry of type {' or '.join(rule['properties']['type']['enum'])} with its coordinates"
    if kind == "object" and "required" in rule:
        return f"an object with {listed(rule['required'])}"
    if kind == "array" and "prefixItems" in rule:
        return f"a list of exactly {rule['maxItems']} numbers"
    if kind == "array" and "minItems" in rule:
        return f"a list of at least {rule['minItems']}"
    return _PLAIN_TYPES.get(kind, "a value")


def listed(names: Iterable[object]) -> str:
    """Names in one line.

    Parameters
    ----------
    names : iterable
        Names in their own order.

    Returns
    -------
    str
        Separated by commas.
    """
    return ", ".join(str(name) for name in names)


def nearest_words(found: object, accepted: Iterable[object]) -> str:
    """A guess at what was meant, to stand before the list of what is accepted.

    Parameters
    ----------
    found : object
        What the file says.
    accepted : iterable
        What it may say.

    Returns
    -------
    str
        Such as ``perhaps depth_to_top_m; ``, or "" where nothing is near.
    """
    names = [str(name) for name in accepted]
    if not isinstance(found, str) or len(found) > LONGEST_GUESSED or len(names) > MOST_COMPARED:
        return ""
    near = get_close_matches(found, names, n=2, cutoff=0.6)
    return f"perhaps {' or '.join(near)}; " if near else ""


def _number_words(rule: dict[str, Any], name: str) -> str:
    unit = next((words for ending, words in _UNITS.items() if name.endswith(ending)), "a number")
    if "exclusiveMinimum" in rule:
        return f"{unit} greater than {rule['exclusiveMinimum']}"
    if "minimum" in rule:
        return f"{unit}, {rule['minimum']} or more"
    return unit
