"""One text for one JSON value, so that its digest is one too (RFC 8785)."""

from datetime import UTC, datetime
from hashlib import sha256
from typing import Any

import rfc8785

BEFORE_THE_FIRST = "0" * 64
"""What the first entry of a chain names as the digest of its predecessor."""


def canonical_text(value: Any) -> str:
    """Canonical JSON of a value: members by name, no blanks, numbers as ECMAScript writes them.

    Parameters
    ----------
    value : JSON value
        Members of objects are named by text; numbers are finite, and whole ones within 2^53 - 1 of zero.

    Returns
    -------
    str
        Without a line end.

    Raises
    ------
    ValueError
        What JSON cannot hold: a NaN, an infinity, a larger whole number, another type.

    Notes
    -----
    RFC 8785, JSON Canonicalization Scheme, June 2020.

    Examples
    --------
    >>> canonical_text({"b": 1.0, "a": [True, None]})
    '{"a":[true,null],"b":1}'
    """
    return rfc8785.dumps(value).decode("utf-8")


def digest_of(text: str) -> str:
    """SHA-256 of a text's UTF-8 bytes, in 64 small hexadecimal digits."""
    return sha256(text.encode("utf-8")).hexdigest()


def utc_text(moment: datetime) -> str:
    """Moment as ISO 8601 in UTC with all six digits of the microseconds.

    Parameters
    ----------
    moment : datetime
        With an offset.

    Returns
    -------
    str
        Such as ``2026-11-26T14:10:00.000000Z``.

    Raises
    ------
    ValueError
        A moment without an offset: it could be any of several.
    """
    if moment.utcoffset() is None:
        raise ValueError(f"{moment} has no offset from UTC")
    return moment.astimezone(UTC).isoformat(timespec="microseconds").removesuffix("+00:00") + "Z"
