"""Where a page of a list begins, as an address holds it: the values of the row before, one by one."""

import json
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from locates.errors import PlaceInListError

Readers = tuple[Callable[[str], Any], ...]


def aware(text: str) -> datetime:
    """A moment with its offset.

    Parameters
    ----------
    text : str
        ISO 8601.

    Raises
    ------
    ValueError
        No moment, or one without an offset.
    """
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError(text)
    return moment


def write_place(values: Sequence[Any]) -> str:
    """A place as text.

    Parameters
    ----------
    values : sequence
        Moments, keys, figures and words; figures to their last digit.

    Returns
    -------
    str
        JSON of texts.
    """
    return json.dumps([one.isoformat() if isinstance(one, datetime) else str(one) for one in values])


def read_place(text: str, readers: Readers) -> tuple[Any, ...] | None:
    """A place from its text; None for the first page, whose text is empty.

    Parameters
    ----------
    text : str
    readers : tuple of callable
        One for each value.

    Raises
    ------
    PlaceInListError
        Text that `write_place` does not give.
    """
    if not text:
        return None
    try:
        parts = json.loads(text)
        if not isinstance(parts, list) or not all(
            isinstance(one, str) and "\x00" not in one for one in parts
        ):
            raise PlaceInListError(text)
        return tuple(read(one) for read, one in zip(readers, parts, strict=True))
    except (ValueError, RecursionError) as error:
        raise PlaceInListError(text) from error
