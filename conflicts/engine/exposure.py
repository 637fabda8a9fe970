"""Whether a crossing is exposed by test holes, and where to dig if not."""

from dataclasses import dataclass

import numpy as np

from conflicts.engine.clearance import Clearance
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import BuriedLine

# Slack on a distance compared with a reach or a spacing: a hole at the limit itself counts.
LIMIT_M = 1e-9


@dataclass(frozen=True, eq=False)
class Exposure:
    """What the found test holes of a line say about one of its crossings.

    Attributes
    ----------
    is_exposed : bool
    holes : tuple of int
        Index of the found holes within the expose reach of the crossing point, and of those beside the bore
        that are as near to it as that point.
    dig_along_m : float or None
        Where along the line the next hole is wanted; None where the crossing is exposed.
    away_m : tuple of float
        Plan distance of every found hole of the line from the crossing point, in the order given.
    stretch_m : float
        Length along the line of the stretch beside the extent.
    farthest_m : float or None
        Greatest distance along the line from a point of that stretch to a found hole; None without one.
    """

    is_exposed: bool
    holes: tuple[int, ...]
    dig_along_m: float | None
    away_m: tuple[float, ...]
    stretch_m: float
    farthest_m: float | None


def exposure(
    clearance: Clearance,
    line: BuriedLine,
    hole_positions_m: FloatArray,
    reach_m: float,
    spacing_m: float,
) -> Exposure:
    """Exposure of one crossing.

    Parameters
    ----------
    clearance : Clearance
    line : BuriedLine
        The line that the crossing is with.
    hole_positions_m : (h, 2) float array
        Found test holes on that line, east and north.
    reach_m : float
        Expose reach, in plan from the crossing point.
    spacing_m : float
        Spacing rule: a stretch beside the extent that is longer needs a hole within half of the rule of every
        point of it.

    Returns
    -------
    Exposure
    """
    away = np.linalg.norm(hole_positions_m.reshape(-1, 2) - clearance.point_m, axis=1)
    within_reach = {int(index) for index in np.flatnonzero(away <= reach_m + LIMIT_M)}
    holes = tuple(sorted(within_reach | set(clearance.as_near)))
    stretch_m = clearance.stretch_m[1] - clearance.stretch_m[0]
    place_m, farthest_m = _farthest(clearance.stretch_m, line.hole_along_m)
    is_spaced = stretch_m <= spacing_m + LIMIT_M or farthest_m <= 0.5 * spacing_m + LIMIT_M
    return Exposure(
        is_exposed=bool(holes) and is_spaced,
        holes=holes,
        dig_along_m=clearance.along_m if not holes else None if is_spaced else place_m,
        away_m=tuple(float(distance) for distance in away),
        stretch_m=stretch_m,
        farthest_m=farthest_m if len(line.hole_along_m) else None,
    )


def _farthest(stretch_m: tuple[float, float], hole_along_m: FloatArray) -> tuple[float, float]:
    """The point of a stretch farthest along the line from any hole, and that distance."""
    first, last = stretch_m
    if len(hole_along_m) == 0:
        return first, np.inf
    holes = np.sort(hole_along_m)
    # Distance to the nearest hole is greatest at an end of the stretch or half-way between two holes.
    middles = 0.5 * (holes[1:] + holes[:-1])
    places = np.concatenate([[first, last], middles[(middles > first) & (middles < last)]])
    distances = np.abs(places[:, None] - holes).min(axis=1)
    worst = int(distances.argmax())
    return float(places[worst]), float(distances[worst])


def point_along(line: BuriedLine, along_m: float) -> FloatArray:
    """East and north of a point of a line given by its distance along it, as a (2,) array."""
    return np.array([np.interp(along_m, line.along_m, line.points_m[:, axis]) for axis in range(2)])
