"""Positions as people type or paste them: a latitude and a longitude a line, a blank line between parts."""

import re
from collections.abc import Iterable, Sequence

from locates.errors import PositionError
from locates.exchange.positions import POLAR_LATITUDE_DEG

EXAMPLE = "latitude, then longitude, in degrees, such as 38.030125, -78.480310 or 38.030125 N, 78.480310 W"
MOST_POSITIONS = 5000

Position = tuple[float, float]

_NUMBER = r"[+-]?\d{1,3}(?:\.\d+)?"
_LINE = re.compile(
    rf"(?P<first>{_NUMBER}) ?(?P<first_side>[NS])?"
    r"(?: ?[,;] ?| )"
    rf"(?P<second>{_NUMBER}) ?(?P<second_side>[EW])?",
    re.ASCII | re.IGNORECASE,
)


def read_positions(text: str) -> list[list[Position]]:
    """Parts of a shape that a person typed.

    Parameters
    ----------
    text : str
        A position a line, latitude first, signed or with N, S, E or W; blank lines stand between parts.

    Returns
    -------
    list of list of (longitude, latitude)
        In degrees; no part is empty.

    Raises
    ------
    PositionError
        Saying in which line, what was found and what is accepted.

    Examples
    --------
    >>> read_positions("38.03 N, 78.48 W")
    [[(-78.48, 38.03)]]
    """
    lines = text.strip().splitlines()
    if len(lines) > MOST_POSITIONS:
        raise PositionError(None, f"{len(lines)} lines", f"{MOST_POSITIONS} positions at most")
    parts: list[list[Position]] = [[]]
    for number, line in enumerate(lines, 1):
        if line.strip():
            parts[-1].append(_position(number, line))
        elif parts[-1]:
            parts.append([])
    return [part for part in parts if part]


def write_positions(parts: Iterable[Sequence[Position]]) -> str:
    """Text that `read_positions` reads back, to the millimetre.

    Parameters
    ----------
    parts : iterable of sequence of (longitude, latitude)
        In degrees.

    Returns
    -------
    str
        A position a line, a blank line between parts.
    """
    return "\n\n".join(
        "\n".join(f"{latitude:.8f}, {longitude:.8f}" for longitude, latitude in part) for part in parts
    )


def _position(number: int, line: str) -> Position:
    plain = " ".join(line.replace("\N{DEGREE SIGN}", " ").replace("\N{MINUS SIGN}", "-").split())
    match = _LINE.fullmatch(plain.replace(" ,", ","))
    if match is None:
        raise PositionError(number, f'"{line.strip()[:60]}"', EXAMPLE)
    latitude = _signed(number, match["first"], match["first_side"], "S")
    longitude = _signed(number, match["second"], match["second_side"], "W")
    if not -90 <= latitude <= 90 or not -180 <= longitude <= 180:
        raise PositionError(number, f'"{line.strip()[:60]}"', f"degrees on the globe: {EXAMPLE}")
    if latitude < POLAR_LATITUDE_DEG:
        raise PositionError(number, f"latitude {latitude}, which looks like a longitude", EXAMPLE)
    return longitude, latitude


def _signed(number: int, degrees: str, side: str | None, negative: str) -> float:
    if side and degrees[0] in "+-":
        raise PositionError(number, f'"{degrees} {side}"', "a sign or a letter, not both")
    return -float(degrees) if side and side.upper() == negative else float(degrees)
