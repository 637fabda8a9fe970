"""Fixes of a phone's position that came with a form, and how far they may be off."""

from locates.errors import JobFileError
from locates.exchange.json_reader import read_json

LONGEST_TEXT = 400_000  # more positions than a form takes
_FIX_LENGTH = 3


def read_fixes(text: str) -> list[tuple[str, float]]:
    """Positions as the form shows them, each with the distance that it may be off by.

    Parameters
    ----------
    text : str
        A JSON list of ``[latitude text, longitude text, accuracy in metres]``, as the page's script keeps it.

    Returns
    -------
    list of (position, accuracy_m)
        The position as a line of the form; fixes that say nothing are left out, and so is text that no such
        script wrote: it only tells how sure positions are that stand in the form themselves.
    """
    try:
        fixes = read_json(text.encode()) if text else []
    except JobFileError:
        return []
    return [
        (f"{fix[0]}, {fix[1]}", float(fix[2]))
        for fix in (fixes if isinstance(fixes, list) else [])
        if _is_fix(fix)
    ]


def _is_fix(fix: object) -> bool:
    return (
        isinstance(fix, list)
        and len(fix) == _FIX_LENGTH
        and isinstance(fix[2], int | float)
        and not isinstance(fix[2], bool)
        and fix[2] >= 0
    )


def worst_accuracy_m(text: str, positions: str) -> float | None:
    """The largest distance that a position of a form may be off by, of those that came from the phone.

    Parameters
    ----------
    text : str
        The fixes, as `read_fixes` takes them.
    positions : str
        The form's positions, one a line.

    Returns
    -------
    float or None
        Metres; None where no position came from the phone.
    """
    lines = {line.strip() for line in positions.splitlines()}
    return max((accuracy_m for place, accuracy_m in read_fixes(text) if place in lines), default=None)
