"""Places along a bore as people type them: a station and an offset a line."""

import re

from locates.errors import LengthError, PositionError
from locates.exchange.typed_positions import MOST_POSITIONS
from locates.units import parse_length_m, parse_station_m

StationAndOffset = tuple[float, float]

STATION_AND_OFFSET_EXAMPLES = {
    "feet": "a station, then R or L and the offset, such as 1+45.2 R 3 ft; on the bore the station alone",
    "metric": "a station, then R or L and the offset, such as 0+044.3 R 0.9 m; on the bore the station alone",
}

_OFFSET = re.compile(
    r"(?P<station>[^,]+?)(?:(?: ?, ?| )(?P<side>R|L|right|left)(?: ?, ?| )(?P<offset>.+))?", re.IGNORECASE
)


def read_stations(text: str, show_units: str) -> list[tuple[int, StationAndOffset]]:
    """Stations and offsets that a person typed, with the line in which each stands.

    Parameters
    ----------
    text : str
        A place a line; blank lines say nothing.
    show_units : {"feet", "metric"}
        How the job writes stations; offsets come in any unit.

    Returns
    -------
    list of (line, (station_m, offset_m))
        The line from 1; the offset positive to the right, facing the exit.

    Raises
    ------
    PositionError
        Saying in which line, what was found and what is accepted.

    Examples
    --------
    >>> read_stations("0+044.3 L 1.5 m", "metric")
    [(1, (44.3, -1.5))]
    """
    lines = text.strip().splitlines()
    if len(lines) > MOST_POSITIONS:
        raise PositionError(None, f"{len(lines)} lines", f"{MOST_POSITIONS} places at most")
    return [
        (number, _place(number, line, show_units)) for number, line in enumerate(lines, 1) if line.strip()
    ]


def _place(number: int, line: str, show_units: str) -> StationAndOffset:
    plain = " ".join(line.split())
    match = _OFFSET.fullmatch(plain)
    found = f'"{plain[:60]}"'
    if match is None:
        raise PositionError(number, found, STATION_AND_OFFSET_EXAMPLES[show_units])
    try:
        station_m = parse_station_m(match["station"], show_units)
        offset_m = parse_length_m(match["offset"]) if match["offset"] else 0.0
    except LengthError as error:
        raise PositionError(number, found, f"{STATION_AND_OFFSET_EXAMPLES[show_units]} ({error})") from error
    if offset_m < 0:
        raise PositionError(number, found, "an offset of 0 or more, with R or L for its side")
    return station_m, -offset_m if (match["side"] or "R")[0] in "lL" else offset_m
