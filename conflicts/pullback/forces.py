"""Forces as people write and read them."""

import re
from math import ceil, floor

from locates.errors import LocatesError
from locates.units import Rounding

NEWTONS_PER_POUND = 4.4482216152605  # 0.45359237 kg at 9.80665 m/s^2, both exact by definition
PASCALS_PER_PSI = 6894.757293168  # a pound-force on 0.0254 m squared
ACCEPTED = "a force with its unit, such as 7500 lb, 7.5 kip, 33.4 kN or 33400 N"
_UNIT_N = {
    "lb": NEWTONS_PER_POUND,
    "lbf": NEWTONS_PER_POUND,
    "kip": 1e3 * NEWTONS_PER_POUND,
    "n": 1.0,
    "kn": 1e3,
}
_FORCE = re.compile(
    r"(?P<amount>\d{1,3}(?:,\d{3})+|\d+(?:\.\d+)?)\s*(?P<unit>lbf?|kip|kn|n)", re.ASCII | re.IGNORECASE
)
LONGEST_TEXT = 30


class ForceError(LocatesError, ValueError):
    """A text that is no force."""

    def __init__(self, found: str) -> None:
        super().__init__(found)
        self.found = found

    def __str__(self) -> str:
        return f'found "{self.found}"; accepted is {ACCEPTED}'


def parse_force_n(text: str) -> float:
    """Force that a person wrote, in newtons.

    Raises `ForceError` where the text is no force above 0 with its unit.
    """
    match = _FORCE.fullmatch(text.strip()) if len(text) <= LONGEST_TEXT else None
    force_n = float(match["amount"].replace(",", "")) * _UNIT_N[match["unit"].lower()] if match else 0.0
    if force_n <= 0.0:
        raise ForceError(text[:LONGEST_TEXT])
    return force_n


def format_force(force_n: float, units: str, rounding: Rounding = "nearest") -> str:
    """In pounds-force for a job in feet, else in kilonewtons; what must be reached up, what is borne down."""
    if units == "feet":
        return f"{_rounded(force_n / NEWTONS_PER_POUND, rounding):,} lb"
    return f"{_rounded(force_n / 10.0, rounding) / 100.0:,.2f} kN"


def _rounded(value: float, rounding: Rounding) -> int:
    if rounding == "up":
        return ceil(value)
    return floor(value) if rounding == "down" else round(value)
