"""The position of a phone that a form carries for one place, and how far it may be off."""

from math import isfinite
from typing import NamedTuple

from locates.errors import JobFileError
from locates.exchange.json_reader import read_json

LONGEST_TEXT = 200
_LENGTH = 3


class PlaceFix(NamedTuple):
    """A place on WGS 84, degrees, and what it may be off by; None where the phone did not say."""

    longitude_deg: float
    latitude_deg: float
    error_m: float | None


def read_place_fix(text: str) -> PlaceFix | None:
    """A fix as a page's script keeps it; None where no such script wrote it.

    Parameters
    ----------
    text : str
        A JSON list of longitude, latitude and accuracy in metres or null.
    """
    try:
        fix = read_json(text.encode())
    except JobFileError:
        return None
    if not isinstance(fix, list) or len(fix) != _LENGTH:
        return None
    longitude, latitude, error_m = fix
    if not (_is_number(longitude) and _is_number(latitude)):
        return None
    if abs(longitude) > 180.0 or abs(latitude) > 90.0:
        return None
    if not _is_number(error_m) or error_m < 0.0:
        return PlaceFix(float(longitude), float(latitude), None)
    return PlaceFix(float(longitude), float(latitude), float(error_m))


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)
