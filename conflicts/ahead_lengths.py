"""Lengths as they are read at arm's length: whole inches or centimetres, no finer than a head is located."""

import math

from locates.minus import format_decimal
from locates.units import Rounding, format_feet_inches

INCH_M = 0.0254
CENTIMETRE_M = 0.01
# A figure so little past a whole step, as a part of it, is that step.
SAME_STEP = 1e-6


def rough_length(length_m: float, show_units: str, rounded: Rounding = "nearest") -> str:
    """A length in whole inches or centimetres.

    Parameters
    ----------
    length_m : float
    show_units : {"feet", "metric"}
        The job's setting.
    rounded : {"nearest", "down", "up"}

    Returns
    -------
    str
        Such as ``4 ft 7 in`` or ``1.40 m``.

    Examples
    --------
    >>> rough_length(1.397, "metric", "down")
    '1.39 m'
    """
    step_m = INCH_M if show_units == "feet" else CENTIMETRE_M
    steps = length_m / step_m
    whole = {
        "nearest": round(steps),
        "down": math.floor(steps + SAME_STEP),
        "up": math.ceil(steps - SAME_STEP),
    }[rounded]
    if show_units == "feet":
        return format_feet_inches(whole * INCH_M)
    return f"{format_decimal(whole * CENTIMETRE_M, 2)} m"
