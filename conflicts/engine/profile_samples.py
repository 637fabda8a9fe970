"""The few stations at which a line tells what a bore may do beside all of it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_programme import sampled

# Stations at which a line is looked at: no farther apart than this, m, but no more than so many.
LOOKED_AT_M = 0.1
MOST_LOOKED_AT = 240
# The margin for which they are chosen, m: about what is found among many lines.
ABOUT_M = 0.5
# A bore that has the margin where it is asked lacks no more than this of it in between, m.
LACKED_M = 2e-3


@dataclass(frozen=True, eq=False)
class Telling:
    """Stations at which the edges of a line say what they are in between.

    Attributes
    ----------
    under_m, over_m : float arrays
        For a bore under it, and over it; empty where the line lies beside no part of the bore.
    """

    under_m: FloatArray
    over_m: FloatArray

    def between(self, first_m: float, last_m: float) -> FloatArray:
        """Those of both sides that lie on a stretch of the bore."""
        both = np.union1d(self.under_m, self.over_m)
        return both[(both >= first_m) & (both <= last_m)]

    def on_side(self, *, is_under: bool) -> FloatArray:
        """Those of one side."""
        return self.under_m if is_under else self.over_m


def telling(limits: ProfileLimits, obstacles: Sequence[Obstacle]) -> list[Telling]:
    """Where each line is asked about.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle

    Notes
    -----
    The elevation z of a bore bends by no more than c = (1 + p^2)^1.5 / R, p its steepest pitch, so z + c x^2
    / 2 is convex and lies below its chords. A lower edge plus c x^2 / 2 is therefore kept everywhere by a
    bore that keeps the corners of its lower convex hull; those steeper than any bore on either side tell
    nothing.
    """
    return [_telling(limits, one) for one in obstacles]


def _telling(limits: ProfileLimits, obstacle: Obstacle) -> Telling:
    low, high = max(limits.entry_station_m.least, obstacle.from_m), min(limits.length_m, obstacle.to_m)
    if low > high:
        return Telling(np.empty(0), np.empty(0))
    count = min(MOST_LOOKED_AT, int(np.ceil((high - low) / LOOKED_AT_M)) + 1)
    stations = np.linspace(low, high, count)
    lower, upper = obstacle.edges_m(stations, ABOUT_M)
    is_there = ~np.isnan(lower)
    if not is_there.any():
        few = sampled(obstacle, limits.entry_station_m.least, limits.length_m)
        return Telling(few, few)
    there = stations[is_there]
    steep = limits.steepest_pitch_ratio
    bend = (1.0 + steep**2) ** 1.5 / limits.bend_radius_m
    bent = 0.5 * bend * (there - low) ** 2
    slopes = -steep, steep + bend * (high - low)
    under = _corners(there, lower[is_there] + bent, slopes, LACKED_M)
    over = _corners(there, bent - upper[is_there], slopes, LACKED_M)
    return Telling(there[under], there[over])


@nb.njit(cache=True)
def _corners(
    along: FloatArray, heights: FloatArray, slopes: tuple[float, float], lacked: float
) -> np.ndarray:
    """Corners of the lower convex hull, without those that lie no deeper than this below their neighbours."""
    corners = np.empty(len(along), dtype=np.int64)
    count = 0
    for index in range(len(along)):
        while count > 1:
            one, other = corners[count - 2], corners[count - 1]
            part = (along[other] - along[one]) / (along[index] - along[one])
            if heights[other] < heights[one] + part * (heights[index] - heights[one]):
                break
            count -= 1
        corners[count] = index
        count += 1
    first, last = 0, count - 1
    # Corners that no bore touches, for it would have to be steeper there.
    while first < last and _slope(along, heights, corners[first], corners[first + 1]) < slopes[0]:
        first += 1
    while last > first and _slope(along, heights, corners[last - 1], corners[last]) > slopes[1]:
        last -= 1
    kept = np.empty(count, dtype=np.int64)
    kept[0] = corners[first]
    left = 1
    for place in range(first + 1, last + 1):
        if place == last or _is_deeper(
            along, heights, kept[left - 1], corners[first + 1 : place + 1], corners[place + 1], lacked
        ):
            kept[left] = corners[place]
            left += 1
    return kept[:left]


@nb.njit(cache=True)
def _slope(along: FloatArray, heights: FloatArray, one: int, other: int) -> float:
    return float((heights[other] - heights[one]) / (along[other] - along[one]))


@nb.njit(cache=True)
def _is_deeper(
    along: FloatArray, heights: FloatArray, one: int, between: np.ndarray, after: int, lacked: float
) -> bool:
    """Whether one of some corners lies below the chord past it by more than may be lacked."""
    slope = _slope(along, heights, one, after)
    for corner in between:
        if corner > one and heights[corner] < heights[one] + slope * (along[corner] - along[one]) - lacked:
            return True
    return False
