"""The verdict on a crossing: the first that fits, an unknown never clear."""

import math
from enum import StrEnum


class Verdict(StrEnum):
    """What a crossing's figures and records amount to."""

    OVERLAP = "overlap"
    UNEXPOSED = "unexposed"
    STALE = "stale"
    SHORT = "short"
    CLEAR = "clear"


def verdict(
    *,
    separation_m: float | None,
    worst_case_m: float | None,
    required_m: float,
    is_exposed: bool,
    is_stale: bool,
) -> Verdict:
    """The first verdict that fits.

    Parameters
    ----------
    separation_m, worst_case_m : float or None
        None (or NaN) where the line's depth is unknown.
    required_m : float
    is_exposed : bool
        A found test hole exposes the crossing.
    is_stale : bool
        The line was re-marked since, or its mark is reported gone.

    Notes
    -----
    A figure that is unknown or not a number is never clear: it is `short` where everything else is settled.
    """
    if separation_m is not None and separation_m < 0.0:
        return Verdict.OVERLAP
    if not is_exposed:
        return Verdict.UNEXPOSED
    if is_stale:
        return Verdict.STALE
    figures = (separation_m, worst_case_m, required_m)
    is_known = all(figure is not None and math.isfinite(figure) for figure in figures)
    if is_known and worst_case_m is not None and worst_case_m >= required_m:
        return Verdict.CLEAR
    return Verdict.SHORT
