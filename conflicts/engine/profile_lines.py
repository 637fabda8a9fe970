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
from conflicts.engine.uncertainty import Holes, Terms, point_at, worst_case_at

# Each edge is looked for from far off inwards: in steps of this, m, or of this part of what is left above the
# margin asked, for a worst case sinks by less than four times the way; then between the last two places.
EDGE_STEP_M = 0.1
EDGE_STEP_RATIO = 0.25
# An edge is met as nearly as this, m; where the worst case jumps, so many tries come as near.
EDGE_FOUND_M = 1e-7
EDGE_TRIES = 60
# How far outside an edge the worst case is looked at for how it grows there, m; where it grows by less than
# this part of that, two edges are compared.
TANGENT_STEP_M, TANGENT_RATIO = 0.01, 0.1
# Stations between two places at which it is asked whether a line alongside leaves a gap, m.
GAP_STEP_M = 0.25


# The alignment's chainages from the first station on, and its points with an elevation of 0.
Alignment = tuple[FloatArray, FloatArray]


@nb.njit(cache=True)
def _margins_m(
    stations: FloatArray,
    elevations: FloatArray,
    alignment: Alignment,
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
        point_at(alignment[0], alignment[1], stations[index], point)
        point[2] = elevations[index]
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
    inwards, way_m = np.sign(inside_m - outside_m), abs(inside_m - outside_m)
    good, point[2] = 0.0, outside_m
    spare = worst_case_at(point, line, along, holes, terms)[0] - asked_m
    while good < way_m:
        bad = min(way_m, good + max(EDGE_STEP_M, EDGE_STEP_RATIO * spare))
        point[2] = outside_m + inwards * bad
        lack = asked_m - worst_case_at(point, line, along, holes, terms)[0]
        if lack > 0.0:
            into = _between(
                point, outside_m, inwards, good, bad, spare, lack, line, along, holes, terms, asked_m
            )
            return float(outside_m + inwards * into)
        good, spare = bad, -lack
    return np.nan


@nb.njit(cache=True)
def _between(
    point: FloatArray,
    outside_m: float,
    inwards: float,
    good: float,
    bad: float,
    spare: float,
    lack: float,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
    asked_m: float,
) -> float:
    """How far inwards the worst case has what is asked: between a place that has it and one that lacks it.

    False position; an end that stays a second time counts half, so that both close in (M. Dowell and
    P. Jarratt, A modified regula falsi method, BIT 11, 1971).
    """
    left_at_good, was_bad, was_good = spare, False, False
    for _ in range(EDGE_TRIES):
        if left_at_good <= EDGE_FOUND_M or bad - good <= EDGE_FOUND_M:
            break
        at = good + (bad - good) * min(0.95, max(0.05, spare / (spare + lack)))
        point[2] = outside_m + inwards * at
        left = worst_case_at(point, line, along, holes, terms)[0] - asked_m
        if left < 0.0:
            spare = 0.5 * spare if was_bad else spare
            bad, lack, was_bad, was_good = at, -left, True, False
        else:
            lack = 0.5 * lack if was_good else lack
            good, left_at_good, spare, was_bad, was_good = at, left, left, False, True
    return good


@nb.njit(cache=True)
def _far_off_m(
    line: FloatArray, along: FloatArray, holes: Holes, terms: Terms, asked_m: float
) -> tuple[float, float]:
    """Elevations below and above a line at which nothing is too near to it."""
    # No error of a line is more than that at its far end.
    errors = terms[1] + terms[2] + holes[1].max() * 2.0 + terms[4] + terms[5] * (along[-1] - along[0])
    away = max(0.0, terms[0] + asked_m + errors)
    return line[:, 2].min() - away, line[:, 2].max() + away


@nb.njit(cache=True)
def _tangents_m(
    stations: FloatArray,
    alignment: Alignment,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
    asked_m: float,
    is_under: bool,
) -> tuple[FloatArray, FloatArray]:
    """The lower or upper edge at each station, and how far out it moves a metre that is asked more."""
    edges, rates = np.full(len(stations), np.nan), np.zeros(len(stations))
    more_m = asked_m + TANGENT_STEP_M
    low, high = _far_off_m(line, along, holes, terms, more_m)
    outside, inside, outwards = (low, high, -1.0) if is_under else (high, low, 1.0)
    point = np.empty(3)
    for index in range(len(stations)):
        point_at(alignment[0], alignment[1], stations[index], point)
        edge = _edge_m(point, outside, inside, line, along, holes, terms, asked_m)
        if np.isnan(edge):
            # An edge that is only there where more is asked is met as it lies there.
            edges[index] = _edge_m(point, outside, inside, line, along, holes, terms, more_m)
            continue
        edges[index], point[2] = edge, edge
        at_edge = worst_case_at(point, line, along, holes, terms)[0]
        point[2] = edge + outwards * TANGENT_STEP_M
        grown = worst_case_at(point, line, along, holes, terms)[0] - at_edge
        if grown >= TANGENT_RATIO * TANGENT_STEP_M:
            rates[index] = TANGENT_STEP_M / grown
        else:
            farther = _edge_m(point, outside, inside, line, along, holes, terms, more_m)
            rates[index] = abs(farther - edge) / TANGENT_STEP_M
    return edges, rates


@nb.njit(cache=True)
def _edges_m(
    stations: FloatArray,
    alignment: Alignment,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
    asked_m: float,
) -> tuple[FloatArray, FloatArray]:
    """Lower and upper edge of the elevations at which the worst case is less than asked."""
    lower, upper = np.full(len(stations), np.nan), np.full(len(stations), np.nan)
    low, high = _far_off_m(line, along, holes, terms, asked_m)
    point = np.empty(3)
    for index in range(len(stations)):
        point_at(alignment[0], alignment[1], stations[index], point)
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
            stations_m, elevations_m, self._alignment, *self._line_terms, self.required_m
        )
        return found

    def edges_m(self, stations_m: FloatArray, margin_m: float) -> tuple[FloatArray, FloatArray]:
        """Elevations between which the worst case is less than required and the margin."""
        lower, upper = _edges_m(stations_m, self._alignment, *self._line_terms, self.required_m + margin_m)
        return lower, upper

    def tangent_m(
        self, stations_m: FloatArray, margin_m: float, *, is_under: bool
    ) -> tuple[FloatArray, FloatArray]:
        """One edge as linear in the margin about one."""
        edges, rates = _tangents_m(
            stations_m, self._alignment, *self._line_terms, self.required_m + margin_m, is_under
        )
        return edges + (rates if is_under else -rates) * margin_m, rates

    @cached_property
    def _alignment(self) -> Alignment:
        places = np.column_stack([self.alignment_m, np.zeros(len(self.alignment_m))])
        return chainages_m(self.alignment_m) + self.first_m, places

    @cached_property
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

    def tangent_m(
        self, stations_m: FloatArray, margin_m: float, *, is_under: bool
    ) -> tuple[FloatArray, FloatArray]:
        """One edge as linear in the margin about one; the height above any ground is the same at all."""
        edge = self.edges_m(stations_m, 0.0)[0 if is_under else 1]
        return edge, np.full(len(edge), 1.0 if is_under else 0.0)


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
