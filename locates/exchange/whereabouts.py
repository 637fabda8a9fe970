"""Where in a job file something stands, and what stands there, in the words of an error."""

import json
from typing import Any

from locates.errors import JobFileError

Path = tuple[str | int, ...]
"""Member names and list indices, outermost first."""

LONGEST_SHOWN = 80

_NAMING_MEMBERS = ("ref", "number", "name")


def error_at(document: Any, path: Path, *, found: str, accepted: str) -> JobFileError:
    """An error at a place of the document, told by feature where it is in one.

    Parameters
    ----------
    document : object
        The file as read.
    path : tuple of str and int
        Where the fault is, from the top of the document.
    found, accepted : str
        What stands there and what may.

    Returns
    -------
    JobFileError
    """
    if len(path) > 1 and path[0] == "features" and isinstance(path[1], int):
        index = path[1]
        return JobFileError(
            feature=index,
            feature_name=feature_name(document["features"][index]),
            field=field_path(path[2:]),
            found=found,
            accepted=accepted,
        )
    return JobFileError(field=field_path(path), found=found, accepted=accepted)


def feature_name(feature: object) -> str:
    """A feature as a person knows it: its kind and its reference, number or name.

    Parameters
    ----------
    feature : object
        As read, which may be no feature at all.

    Returns
    -------
    str
        Such as ``mark 'G-1'``; "" where the feature says nothing of itself.
    """
    properties = feature.get("properties") if isinstance(feature, dict) else None
    if not isinstance(properties, dict) or not isinstance(properties.get("kind"), str):
        return ""
    kind = _short(properties["kind"])
    if kind == "pit":
        return f"{kind} at {_short(properties.get('end'))} of '{_short(properties.get('bore_name'))}'"
    named = [properties[member] for member in _NAMING_MEMBERS if isinstance(properties.get(member), str)]
    return f"{kind} '{_short(named[0])}'" if named else kind


def field_path(path: Path) -> str:
    """Path of a member as people write it.

    Parameters
    ----------
    path : tuple of str and int
        Member names and list indices, outermost first.

    Returns
    -------
    str
        Such as ``properties.rods.joints[2].length_m``.
    """
    words = "".join(f"[{part}]" if isinstance(part, int) else f".{_short(part)}" for part in path)
    return words.removeprefix(".")


def show(value: object) -> str:
    """A found value in the file's own notation, with what it is where that may be missed.

    Parameters
    ----------
    value : object
        As read from JSON.

    Returns
    -------
    str
        Such as ``"4" (text)``, ``4`` or ``a list of 3``; shortened if long.
    """
    if isinstance(value, dict):
        return f"an object of {len(value)} members"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, str):
        return f'"{_short(value)}" (text)'
    return json.dumps(value)


def _short(value: object) -> str:
    """Text without what would act on a terminal, and not longer than a line."""
    text = str(value)
    if len(text) > LONGEST_SHOWN:
        text = text[: LONGEST_SHOWN - 3] + "..."
    return text if text.isprintable() else json.dumps(text)[1:-1]
