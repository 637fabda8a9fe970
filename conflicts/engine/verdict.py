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
    steps = verdict_steps(
        separation_m=separation_m,
        worst_case_m=worst_case_m,
        required_m=required_m,
        is_exposed=is_exposed,
        is_stale=is_stale,
    )
    return next(one for one, fits in steps if fits)


def verdict_steps(
    *,
    separation_m: float | None,
    worst_case_m: float | None,
    required_m: float,
    is_exposed: bool,
    is_stale: bool,
) -> list[tuple[Verdict, bool]]:
    """Every verdict in the order of asking, and whether it fits by itself; the first that fits is given.

    Parameters
    ----------
    separation_m, worst_case_m, required_m, is_exposed, is_stale
        As for `verdict`.
    """
    figures = (separation_m, worst_case_m, required_m)
    is_known = all(figure is not None and math.isfinite(figure) for figure in figures)
    is_enough = is_known and worst_case_m is not None and worst_case_m >= required_m
    return [
        (Verdict.OVERLAP, separation_m is not None and separation_m < 0.0),
        (Verdict.UNEXPOSED, not is_exposed),
        (Verdict.STALE, is_stale),
        (Verdict.SHORT, not is_enough),
        (Verdict.CLEAR, True),
    ]
