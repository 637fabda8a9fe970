"""A buried line as what a profile must stay away from, by the engine's own worst case.

With the alignment given, the place of the hole's centre at a station is its elevation alone, so the worst
case there is a figure of station and elevation.
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numba as nb
import numpy as np

from conflicts.engine.clearance import Allowances
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.engine.line import BuriedLine
from conflicts.engine.path import Ground
from conflicts.engine.profile_limits import FAR_M, Obstacle
from conflicts.engine.uncertainty import Holes, Terms, worst_case_at

# Each edge is looked for from far off inwards in steps of this, m, and then by halves.
EDGE_STEP_M = 0.1
EDGE_HALVINGS = 20
# Stations between two places at which it is asked whether a line alongside leaves a gap, m.
GAP_STEP_M = 0.25


@nb.njit(cache=True)
def _margins_m(
    plan: FloatArray,
    elevations: FloatArray,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
    required_m: float,
) -> FloatArray:
    """Worst case less what is required, with the hole's centre at each place."""
    found = np.empty(len(elevations))
    point = np.empty(3)
    for index in range(len(elevations)):
        point[0], point[1], point[2] = plan[index, 0], plan[index, 1], elevations[index]
        found[index] = worst_case_at(point, line, along, holes, terms)[0] - required_m
    return found


@nb.njit(cache=True)
def _edge_m(
    point: FloatArray,
    outside_m: float,
    inside_m: float,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
    asked_m: float,
) -> float:
    """The first elevation from outside in at which the worst case is less than asked; NaN where none is."""
    steps = int(np.ceil(abs(inside_m - outside_m) / EDGE_STEP_M)) + 1
    step = (inside_m - outside_m) / steps
    good = outside_m
    for index in range(1, steps + 1):
        point[2] = outside_m + step * index
        if worst_case_at(point, line, along, holes, terms)[0] < asked_m:
            bad = point[2]
            for _ in range(EDGE_HALVINGS):
                point[2] = 0.5 * (good + bad)
                if worst_case_at(point, line, along, holes, terms)[0] < asked_m:
                    bad = point[2]
                else:
                    good = point[2]
            return good
        good = point[2]
    return np.nan


@nb.njit(cache=True)
def _edges_m(
    plan: FloatArray, line: FloatArray, along: FloatArray, holes: Holes, terms: Terms, asked_m: float
) -> tuple[FloatArray, FloatArray]:
    """Lower and upper edge of the elevations at which the worst case is less than asked."""
    lower, upper = np.full(len(plan), np.nan), np.full(len(plan), np.nan)
    lowest, highest = line[:, 2].min(), line[:, 2].max()
    # No error of a line is more than that at its far end: farther away than all of it nothing is too near.
    errors = terms[1] + terms[2] + holes[1].max() * 2.0 + terms[4] + terms[5] * (along[-1] - along[0])
    away = max(0.0, terms[0] + asked_m + errors)
    point = np.empty(3)
    for index in range(len(plan)):
        point[0], point[1] = plan[index, 0], plan[index, 1]
        low, high = lowest - away, highest + away
        upper[index] = _edge_m(point, high, low, line, along, holes, terms, asked_m)
        if not np.isnan(upper[index]):
            lower[index] = _edge_m(point, low, high, line, along, holes, terms, asked_m)
    return lower, upper


@dataclass(frozen=True, eq=False)
class KeptAway:
    """A line whose depth is known, over a stretch of an alignment.

    Attributes
    ----------
    name : str
    from_m, to_m, required_m : float
    alignment_m : (n, 2) float array
    first_m : float
        Station at which the alignment given begins.
    line : BuriedLine
    terms : Terms
        Radii and errors, as `uncertainty.worst_case_at` takes them.
    """

    name: str
    from_m: float
    to_m: float
    required_m: float
    alignment_m: FloatArray
    first_m: float
    line: BuriedLine
    terms: Terms

    def margins_m(self, stations_m: FloatArray, elevations_m: FloatArray) -> FloatArray:
        """Worst case less what is required, with the hole's centre at each place."""
        found: FloatArray = _margins_m(
            self._plan_m(stations_m), elevations_m, *self._line_terms(), self.required_m
        )
        return found

    def edges_m(self, stations_m: FloatArray, margin_m: float) -> tuple[FloatArray, FloatArray]:
        """Elevations between which the worst case is less than required and the margin."""
        lower, upper = _edges_m(self._plan_m(stations_m), *self._line_terms(), self.required_m + margin_m)
        return lower, upper

    def _plan_m(self, stations_m: FloatArray) -> FloatArray:
        return np.column_stack(
            [np.interp(stations_m, self._chainage_m, self.alignment_m[:, k]) for k in range(2)]
        )

    @cached_property
    def _chainage_m(self) -> FloatArray:
        return chainages_m(self.alignment_m) + self.first_m

    def _line_terms(self) -> tuple[FloatArray, FloatArray, Holes, Terms]:
        line = self.line
        return line.points_m, line.along_m, (line.hole_along_m, line.hole_errors_m), self.terms


@dataclass(frozen=True, eq=False)
class UnknownDepth:
    """A line of unknown depth: no centre of the hole may be higher than a depth below the ground.

    Attributes
    ----------
    name : str
    from_m, to_m : float
    ground : Ground
    down_to_m : float
        Depth down to which it blocks every place of the hole's centre; `BLOCKED_M` for all depths.
    """

    name: str
    from_m: float
    to_m: float
    ground: Ground
    down_to_m: float

    def margins_m(self, stations_m: FloatArray, elevations_m: FloatArray) -> FloatArray:
        """How far below what is blocked each place is."""
        return np.asarray(self.ground.at(stations_m) - self.down_to_m - elevations_m, dtype=float)

    def edges_m(self, stations_m: FloatArray, margin_m: float) -> tuple[FloatArray, FloatArray]:
        """The depth below what is blocked, and a height above any ground."""
        ground = self.ground.at(stations_m)
        return ground - self.down_to_m - margin_m, ground + FAR_M


# Deeper than any profile.
BLOCKED_M = 2.0 * FAR_M


def error_terms(
    bore_radius_m: float, line: BuriedLine, allowances: Allowances, stated_accuracy_m: float | None
) -> Terms:
    """Radii and errors of a bore and a line, as `clearance.clearances` takes them.

    Parameters
    ----------
    bore_radius_m : float
    line : BuriedLine
    allowances : Allowances
    stated_accuracy_m : float or None
        Horizontal accuracy that the mark states.
    """
    return (
        bore_radius_m + line.size.radius_m,
        allowances.bore_horizontal_m,
        allowances.bore_vertical_m,
        allowances.reach_m,
        allowances.tolerance_zone_m if stated_accuracy_m is None else stated_accuracy_m,
        allowances.slope_ratio,
    )


def without_gaps(obstacle: Obstacle) -> list[tuple[float, float]]:
    """The stretches of a line between which every elevation is free, so that a bore may change its side.

    Parameters
    ----------
    obstacle : Obstacle

    Returns
    -------
    list of (float, float)
        First and last station of each, in order; together they are the whole of it.
    """
    low, high = obstacle.from_m, obstacle.to_m
    stations = np.linspace(low, high, max(2, int(np.ceil((high - low) / GAP_STEP_M)) + 1))
    is_free = np.isnan(obstacle.edges_m(stations, 0.0)[0])
    if is_free.all():
        return [(low, high)]
    inner = np.flatnonzero(~is_free)
    ends = [low]
    for before, after in pairwise(inner):
        if after > before + 1:
            ends.append(float(0.5 * (stations[before] + stations[after])))
    ends.append(high)
    return list(pairwise(ends))
