"""Lengths, stations and grades as people write and read them: the only feet-and-inches code."""

import math
import re
import unicodedata
from fractions import Fraction
from typing import Literal

from locates.errors import GradeError, LengthError
from locates.minus import MINUS, format_decimal

_FOOT = Fraction(3048, 10000)  # international foot, exact: 24 FR 5348 (1 July 1959)
# Exact; deprecated from 1 January 2023 by 85 FR 62698 (5 October 2020), but older surveys are in it.
_US_SURVEY_FOOT = Fraction(1200, 3937)

METRES_PER_FOOT = float(_FOOT)
METRES_PER_INCH = float(_FOOT / 12)
METRES_PER_US_SURVEY_FOOT = float(_US_SURVEY_FOOT)

Rounding = Literal["nearest", "down", "up"]

STATION_EXAMPLES = {
    "feet": "write hundreds of feet and feet as 1+45.2, or a length with its unit such as 145.2 ft",
    "metric": "write kilometres and metres as 0+044.3, or a length with its unit such as 44.3 m",
}
EXAMPLES = "write it as 4'7\", 4 ft 7 in, 4.58 ft, 55 in, 1.40 m, 140 cm or 1400 mm"
GRADE_EXAMPLES = "write it as -12.5 %, falling is negative"
UNKNOWN = "unknown"

LONGEST_TEXT = 60
EIGHTHS_PER_INCH = 8
# A clearance that is a whole number of eighths on paper carries the noise of binary arithmetic; a
# nanometre forgives that and nothing that a tape could see.
NOISE_M = 1e-9

_UNIT_M: dict[str, Fraction] = {
    "feet": _FOOT,
    "survey_feet": _US_SURVEY_FOOT,
    "inches": _FOOT / 12,
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "mm": Fraction(1, 1000),
}
_NUMBER = r"(?:\d+(?:\.\d+)?|\.\d+)"
_FRACTION = r"\d+/\d+"
_AMOUNT = rf"(?:{_FRACTION}|\d+[ -]{_FRACTION}|{_NUMBER})"
_FEET = r"(?:'|ft\.?|foot|feet)"
_INCHES = r"(?:\"|in\.?|inch|inches)"
_UNITS = {
    "survey_feet": r"(?:us ?ft|ft ?us|us survey (?:ft|foot|feet))",
    "feet": _FEET,
    "inches": _INCHES,
    "m": r"(?:m|met(?:re|er)s?)",
    "cm": r"(?:cm|centimet(?:re|er)s?)",
    "mm": r"(?:mm|millimet(?:re|er)s?)",
}
_ONE_UNIT = [
    (unit, re.compile(rf"(?P<amount>{_AMOUNT}) ?{pattern}", re.ASCII)) for unit, pattern in _UNITS.items()
]
_FEET_AND_INCHES = re.compile(
    rf"(?P<feet>{_NUMBER}) ?{_FEET} ?(?:- ?)?(?P<inches>{_AMOUNT}) ?{_INCHES}", re.ASCII
)
# What no bare number has.
_HAS_UNIT = re.compile(r"[^\d\s./+-]")
_BARE = re.compile(rf"{_AMOUNT}", re.ASCII)
# As many digits before the point as the unit has: a station of the other unit is told from it by them.
_STATIONS = {
    "feet": re.compile(r"(?P<long>\d{1,4})\+(?P<short>\d{2}(?:\.\d+)?)", re.ASCII),
    "metric": re.compile(r"(?P<long>\d{1,2})\+(?P<short>\d{3}(?:\.\d+)?)", re.ASCII),
}
_PERCENT = re.compile(rf"(?P<sign>[+-]?) ?(?P<amount>{_NUMBER}) ?(?:%|percent)", re.ASCII)
_MARKS = str.maketrans({
    "\u2032": "'", "\u2019": "'", "\u2018": "'", "\u02b9": "'", "\u00b4": "'",
    "\u2033": '"', "\u201d": '"', "\u201c": '"', "\u02ba": '"',
    "\u2212": "-", "\u2013": "-", "\u2010": "-", "\u2011": "-", "\u2044": "/",
})  # fmt: skip


def with_unit(text: str, unit: str) -> str:
    """A length as it was written, with a unit that was asked for beside it where it has none of its own.

    Parameters
    ----------
    text : str
    unit : str
        Empty where none was asked for.
    """
    return text if _HAS_UNIT.search(_plain(text)) else f"{text} {unit}".rstrip()


def parse_length_m(text: str) -> float:
    r"""Length that a person wrote, in metres.

    Parameters
    ----------
    text : str
        Feet and inches (``4'7"``, ``4'-7 1/2"``, ``4 ft 7 in``), feet, inches, metres, centimetres,
        millimetres or US survey feet (``4.58 usft``), with a sign in front if it is negative.

    Returns
    -------
    float
        Metres, the double nearest to the exact value.

    Raises
    ------
    LengthError
        A number without a unit, inches of 12 or more after feet, a decimal comma, anything else that
        has no reading or more than one.

    Examples
    --------
    >>> parse_length_m("4'7\"")
    1.397
    """
    if len(text) > LONGEST_TEXT:
        raise LengthError(text[:LONGEST_TEXT] + "...", f"it is too long; {EXAMPLES}")
    plain = _plain(text)
    sign = -1 if plain.startswith("-") else 1
    body = plain.removeprefix("-").removeprefix("+").lstrip() if plain[:1] in "+-" else plain
    both = _FEET_AND_INCHES.fullmatch(body)
    if both:
        return float(sign * _feet_and_inches_m(text, both["feet"], both["inches"]))
    for unit, pattern in _ONE_UNIT:
        match = pattern.fullmatch(body)
        if match:
            return float(sign * _amount(text, match["amount"]) * _UNIT_M[unit])
    raise LengthError(text, _reason(body))


def _plain(text: str) -> str:
    """Text in small ASCII letters, with plain primes, fractions written out and single spaces."""
    spelled = []
    for character in text.translate(_MARKS):
        if unicodedata.category(character) == "No" and "/" in (
            fraction := unicodedata.normalize("NFKC", character).replace("\u2044", "/")
        ):
            spelled.append(f" {fraction}")
        else:
            spelled.append(character)
    return " ".join("".join(spelled).replace("''", '"').lower().split())


def _feet_and_inches_m(text: str, feet: str, inches: str) -> Fraction:
    inches_number = _amount(text, inches)
    if "." in feet:
        raise LengthError(text, f"a decimal of a foot and inches together say two things; {EXAMPLES}")
    if inches_number >= 12:
        raise LengthError(text, f"inches after feet stay below 12; {EXAMPLES}")
    return Fraction(feet) * _FOOT + inches_number * _UNIT_M["inches"]


def _amount(text: str, amount: str) -> Fraction:
    whole, separator, fraction = amount.replace("-", " ").rpartition(" ")
    if "/" not in fraction:
        return Fraction(fraction)
    above, below = (int(part) for part in fraction.split("/"))
    if not 0 < above < below:
        raise LengthError(text, f"{fraction} is not a part of an inch or a foot; {EXAMPLES}")
    return Fraction(above, below) + (int(whole) if separator else 0)


def _reason(body: str) -> str:
    if not body:
        return f"it is empty; {EXAMPLES}"
    if _BARE.fullmatch(body):
        return f"{body} of what? The unit is missing; {EXAMPLES}"
    if "," in body:
        return f"a comma may be a decimal or a thousand; {EXAMPLES}"
    return EXAMPLES


def format_feet_inches(length_m: float | None, rounded: Rounding = "nearest") -> str:
    """Feet and inches to an eighth of an inch, such as ``4 ft 7 1/8 in``.

    Parameters
    ----------
    length_m : float or None
        Metres; None and NaN are unknown, and said so.
    rounded : {"nearest", "down", "up"}
        ``down`` (towards less, below zero too) for a clearance, so that a shortfall never reads as
        enough; ``up`` for the figure that it must reach.

    Returns
    -------
    str
        Inches alone below one foot; the minus sign U+2212 in front if negative, as in every format here.

    Examples
    --------
    >>> format_feet_inches(1.397)
    '4 ft 7 in'
    """
    if length_m is None or math.isnan(length_m):
        return UNKNOWN
    eighths = _whole(length_m, METRES_PER_INCH / EIGHTHS_PER_INCH, rounded)
    sign = MINUS if eighths < 0 else ""
    whole_inches, part = divmod(abs(eighths), EIGHTHS_PER_INCH)
    feet, inches = divmod(whole_inches, 12)
    fraction = str(Fraction(part, EIGHTHS_PER_INCH)) if part else ""
    whole = str(inches) if inches or feet or not part else ""
    inch_words = " ".join(word for word in (whole, fraction) if word)
    return f"{sign}{feet} ft {inch_words} in" if feet else f"{sign}{inch_words} in"


def format_length(length_m: float | None, show_units: str, rounded: Rounding = "nearest") -> str:
    """Length in the job's units: feet and inches to an eighth, or metres to a millimetre.

    Parameters
    ----------
    length_m : float or None
        Metres; None and NaN are unknown, and said so.
    show_units : {"feet", "metric"}
        The job's setting.
    rounded : {"nearest", "down", "up"}
        As for `format_feet_inches`.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> format_length(1.397, "metric")
    '1.397 m'
    """
    if show_units == "feet":
        return format_feet_inches(length_m, rounded)
    if length_m is None or math.isnan(length_m):
        return UNKNOWN
    return f"{format_decimal(_whole(length_m, 0.001, rounded) / 1000, 3)} m"


def format_worked(length_m: float | None, show_units: str) -> str:
    """Length as a term of a sum: decimals fine enough that the terms add up to what is shown.

    Parameters
    ----------
    length_m : float or None
        Metres; None and NaN are unknown, and said so.
    show_units : {"feet", "metric"}
        The job's setting.

    Returns
    -------
    str
        Hundredths of an inch, or tenths of a millimetre.

    Examples
    --------
    >>> format_worked(1.2383, "feet")
    '48.75 in'
    """
    if length_m is None or math.isnan(length_m):
        return UNKNOWN
    if show_units == "feet":
        return f"{format_decimal(length_m / METRES_PER_INCH, 2)} in"
    return f"{format_decimal(length_m, 4)} m"


def format_station(station_m: float | None, show_units: str) -> str:
    """Station along a bore: hundreds of feet and feet, or kilometres and metres.

    Parameters
    ----------
    station_m : float or None
        Metres from the entry point; None and NaN are unknown, and said so.
    show_units : {"feet", "metric"}
        The job's setting.

    Returns
    -------
    str
        ``1+45.2`` in feet, ``0+044.3`` in metres.

    Examples
    --------
    >>> format_station(44.3, "metric")
    '0+044.3'
    """
    if station_m is None or math.isnan(station_m):
        return UNKNOWN
    in_feet = show_units == "feet"
    tenths = _whole(station_m, METRES_PER_FOOT / 10 if in_feet else 0.1, "nearest")
    long_part, short_part = divmod(abs(tenths), 1000 if in_feet else 10000)
    sign = MINUS if tenths < 0 else ""
    return f"{sign}{long_part}+{short_part / 10:0{4 if in_feet else 5}.1f}"


def parse_station_m(text: str, show_units: str) -> float:
    """Station that a person wrote, in metres from the entry point.

    Parameters
    ----------
    text : str
        A station of the job's units, or a length with its unit, whatever unit that is; 0 needs none.
    show_units : {"feet", "metric"}
        The job's setting.

    Returns
    -------
    float
        Metres, the double nearest to the exact value.

    Raises
    ------
    LengthError
        A station with as many digits as the other unit has, a number without a unit, anything else that has
        no reading.

    Examples
    --------
    >>> parse_station_m("0+044.3", "metric")
    44.3
    """
    plain = _plain(text) if len(text) <= LONGEST_TEXT else text[:LONGEST_TEXT]
    match = _STATIONS[show_units].fullmatch(plain)
    if match:
        step = (100, _UNIT_M["feet"]) if show_units == "feet" else (1000, _UNIT_M["m"])
        return float((int(match["long"]) * step[0] + Fraction(match["short"])) * step[1])
    if plain == "0":
        return 0.0
    if "+" in plain or _BARE.fullmatch(plain):
        raise LengthError(text[:LONGEST_TEXT], STATION_EXAMPLES[show_units])
    return parse_length_m(text)


def format_grade(grade_ratio: float | None) -> str:
    """Grade in percent, one decimal: rise over run, down is negative.

    Parameters
    ----------
    grade_ratio : float or None
        Rise over run; None and NaN are unknown, and said so.

    Returns
    -------
    str
        Such as ``12.5 %``.

    Examples
    --------
    >>> format_grade(0.125)
    '12.5 %'
    """
    if grade_ratio is None or math.isnan(grade_ratio):
        return UNKNOWN
    return f"{format_decimal(_whole(grade_ratio, 0.001, 'nearest') / 10, 1)} %"


def parse_grade_ratio(text: str) -> float:
    """Grade that a person wrote in percent.

    Parameters
    ----------
    text : str
        A number and a percent sign.

    Returns
    -------
    float
        Rise over run, the double nearest to the exact value.

    Raises
    ------
    GradeError
        A number without the percent sign, anything else that has no reading or more than one.

    Examples
    --------
    >>> parse_grade_ratio("-12.5 %")
    -0.125
    """
    match = _PERCENT.fullmatch(_plain(text)) if len(text) <= LONGEST_TEXT else None
    if match is None:
        raise GradeError(text[:LONGEST_TEXT], GRADE_EXAMPLES)
    return float(Fraction(match["sign"] + match["amount"]) / 100)


def _whole(amount: float, step: float, rounded: Rounding) -> int:
    """How many steps the amount is, forgiving the noise of binary arithmetic."""
    if rounded == "down":
        return math.floor((amount + NOISE_M) / step)
    if rounded == "up":
        return math.ceil((amount - NOISE_M) / step)
    return math.floor((amount + NOISE_M) / step + 0.5) if amount >= 0 else -_whole(-amount, step, rounded)
