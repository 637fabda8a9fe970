"""Moments of RFC 3339, read and written."""

import re
from datetime import UTC, datetime

EARLIEST_YEAR, LATEST_YEAR = 1900, 2200  # no ticket is older, and none is that far ahead: a slip of the hand

_RFC_3339 = re.compile(
    r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(?:\.\d{1,6})?(?:Z|[+-]\d{2}:\d{2})", re.ASCII | re.IGNORECASE
)


def read_moment(text: str) -> datetime:
    """Moment in UTC.

    Parameters
    ----------
    text : str
        RFC 3339 with its offset; seconds to six decimals.

    Returns
    -------
    datetime
        Aware, in UTC.

    Raises
    ------
    ValueError
        Another form, a day or hour that does not exist, a year outside `EARLIEST_YEAR` to `LATEST_YEAR`.
    """
    if not _RFC_3339.fullmatch(text):
        raise ValueError(text)
    moment = datetime.fromisoformat(text.upper())
    if not EARLIEST_YEAR <= moment.year <= LATEST_YEAR:
        raise ValueError(text)
    return moment.astimezone(UTC)


def write_moment(moment: datetime) -> str:
    """RFC 3339 in UTC.

    Parameters
    ----------
    moment : datetime
        Aware.

    Returns
    -------
    str
        Ending in ``Z``; with decimals of a second only where there are any.
    """
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
