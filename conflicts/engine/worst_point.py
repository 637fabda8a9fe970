"""The terms of a worst case at the point where it was found."""

import numpy as np

from conflicts.engine.line import BuriedLine
from conflicts.engine.path import BorePath
from conflicts.engine.terms import Worst
from conflicts.engine.uncertainty import Terms, error_terms_at


def worst_point(
    path: BorePath, line: BuriedLine, terms: Terms, worst_m: float, likely_m: float, station_m: float
) -> Worst:
    """What a worst case at a station is made of.

    Parameters
    ----------
    path : BorePath
    line : BuriedLine
        With a known depth.
    terms : tuple of float
        As for `conflicts.engine.uncertainty.error_terms_at`.
    worst_m, likely_m, station_m : float
        As `conflicts.engine.uncertainty.least_worst_case` found them.

    Returns
    -------
    Worst
        Its distance less the radii and the loss is the worst case.
    """
    point = path.at(station_m)
    holes = (line.hole_along_m, line.hole_errors_m)
    distance, level, plumb, segment, fraction, line_horizontal, line_vertical = error_terms_at(
        point, line.points_m, line.along_m, holes, terms
    )
    after = min(segment + 1, len(line.points_m) - 1)
    at = line.along_m[segment] + fraction * (line.along_m[after] - line.along_m[segment])
    step = line.points_m[after] - line.points_m[segment]
    run_m = float(np.hypot(step[0], step[1]))
    away = np.abs(line.hole_along_m - at)
    # Of holes equally near the one measured worst counts, as in `line_errors`.
    nearest = int(np.lexsort((-line.hole_errors_m, away))[0])
    return Worst(
        worst_case_m=float(worst_m),
        likely_m=float(likely_m),
        station_m=station_m,
        bore_point_m=point,
        line_point_m=line.points_m[segment] + fraction * step,
        line_direction=step[:2] / run_m if run_m > 0.0 else np.full(2, np.nan),
        centre_distance_m=float(distance),
        level_share=float(level),
        plumb_share=float(plumb),
        bore_horizontal_m=terms[1],
        bore_vertical_m=terms[2],
        line_horizontal_m=float(line_horizontal),
        line_vertical_m=float(line_vertical),
        loss_m=float(distance) - terms[0] - float(worst_m),
        line_along_m=float(at),
        hole=int(line.hole_order[nearest]),
        hole_error_m=float(line.hole_errors_m[nearest]),
        hole_away_m=float(away[nearest]),
        # The limit is that of `line_errors`.
        hole_is_in_reach=bool(away[nearest] <= terms[3] + 1e-9),
    )
