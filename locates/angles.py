"""Pitches and headings as people write and read them, in percent or degrees."""

import math
import re

from locates.errors import GradeError, HeadingError
from locates.minus import MINUS, format_decimal
from locates.units import LONGEST_TEXT, parse_grade_ratio

PITCH_EXAMPLES = "write it as -12.5 % or as -7.1 degrees, falling is negative"
HEADING_EXAMPLES = "write it in degrees clockwise from true north, 0 to 360, such as 92.5"
STEEPEST_DEG = 80.0  # a rig enters at 8 to 20 degrees; nearer to plumb a tangent says nothing any more

_DEGREES = r"(?:\N{DEGREE SIGN}|deg\.?|degrees?)"
_PITCH = re.compile(rf"(?P<sign>[+-]?) ?(?P<amount>\d+(?:\.\d+)?|\.\d+) ?{_DEGREES}", re.ASCII)
_HEADING = re.compile(rf"(?P<amount>\d+(?:\.\d+)?) ?{_DEGREES}?", re.ASCII)


def parse_pitch_ratio(text: str) -> float:
    """Pitch that a person wrote in percent or in degrees.

    Parameters
    ----------
    text : str
        A number with a percent sign, or with a degree sign, "deg" or "degrees".

    Returns
    -------
    float
        Rise over run; of degrees their tangent.

    Raises
    ------
    GradeError
        A number without a unit, anything else that has no reading, or more than 80 degrees.

    Examples
    --------
    >>> parse_pitch_ratio("-45 deg")
    -1.0
    """
    match = _PITCH.fullmatch(_plain(text)) if len(text) <= LONGEST_TEXT else None
    if match is None:
        try:
            return parse_grade_ratio(text)
        except GradeError as error:
            raise GradeError(text[:LONGEST_TEXT], PITCH_EXAMPLES) from error
    pitch_deg = float(match["sign"] + match["amount"])
    if abs(pitch_deg) > STEEPEST_DEG:
        raise GradeError(text, f"at most {STEEPEST_DEG:.0f} degrees: {PITCH_EXAMPLES}")
    return round(math.tan(math.radians(pitch_deg)), 12)


def parse_heading_rad(text: str) -> float:
    """Heading that a person wrote in degrees.

    Parameters
    ----------
    text : str
        Degrees clockwise from true north, from 0 to 360, with or without their sign.

    Returns
    -------
    float
        In radians.

    Raises
    ------
    HeadingError
        What has no reading or lies outside of 0 to 360 degrees.

    Examples
    --------
    >>> round(parse_heading_rad("90 deg"), 6)
    1.570796
    """
    match = _HEADING.fullmatch(_plain(text)) if len(text) <= LONGEST_TEXT else None
    if match is None or float(match["amount"]) > 360.0:
        raise HeadingError(text[:LONGEST_TEXT], HEADING_EXAMPLES)
    return math.radians(float(match["amount"]))


def format_heading(heading_rad: float | None) -> str:
    """Heading in degrees to a hundredth, as `parse_heading_rad` reads it; "" where there is none.

    Parameters
    ----------
    heading_rad : float or None
        Clockwise from true north; None follows the alignment.

    Returns
    -------
    str
        Such as ``92.50°``, within 0 and 360.

    Examples
    --------
    >>> format_heading(-1.5707963267948966)
    '270.00°'
    """
    if heading_rad is None:
        return ""
    return f"{format_decimal(round(math.degrees(heading_rad) % 360.0, 2) % 360.0, 2)}\N{DEGREE SIGN}"


def _plain(text: str) -> str:
    """Text with the minus signs that people paste as one, in small letters, single blanks."""
    return " ".join(text.replace(MINUS, "-").replace("\N{EN DASH}", "-").lower().split())
