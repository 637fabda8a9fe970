"""What a rod-by-rod profile comes to on its exact arcs: its margins, and by how much it breaks a limit."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.path import SAME_POINT_M
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.profile_limits import Obstacle, ProfileLimits

# Stations between two samples of the margin, m: as the engine samples a crossing's worst case. Of the lines
# whose margin is within so much of the least, it is sampled so many times closer beside its lowest sample.
MEASURED_M = 0.05
CLOSE_M = 0.03
CLOSER = 25
# Stations between two places at which the heights allowed are measured, m.
HEIGHTS_M = 0.25
# What a profile may break a limit by and still keep it: less than the last digit of any record, m and rad.
SLACK_M = 1e-4
SLACK_RAD = 1e-6


@dataclass(frozen=True, eq=False)
class Measured:
    """A profile in rods with its figures.

    Attributes
    ----------
    rods : RodProfile
    margin_m : float
        The least over all obstacles, measured on the arcs; infinite where the bore lies beside none.
    margins_m, nearest_m : (k,) float arrays
        The least margin to each obstacle and its station; NaN where it lies beside no part of the bore.
    excess_m : float
        By how much the profile breaks a limit, 0 where it keeps all.
    ends_excess_m : float
        The same but for the heights between its ends.
    outermost_at_m : float
        Station at which the profile comes nearest to a height that it may not pass, or is farthest past it.
    """

    rods: RodProfile
    margin_m: float
    margins_m: FloatArray
    nearest_m: FloatArray
    excess_m: float
    ends_excess_m: float
    outermost_at_m: float

    @property
    def keeps_limits(self) -> bool:
        """Whether every limit is kept, to less than the last digit of any record."""
        return self.excess_m <= SLACK_M


class Gauge:
    """What measures profiles among the same obstacles, on their arcs.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle

    Notes
    -----
    Margins are sampled at every `MEASURED_M` of station or closer; the least ones `CLOSER` times closer.
    """

    def __init__(self, limits: ProfileLimits, obstacles: Sequence[Obstacle]) -> None:
        self._limits, self._obstacles = limits, obstacles
        self._entry_m = float("nan")

    def _begin_at(self, entry_m: float) -> None:
        """Lay out the stations of profiles that begin at one; most profiles begin where the last one did."""
        limits = self._limits
        self._entry_m = entry_m
        self._along = [_along(one, entry_m, limits.length_m) for one in self._obstacles]
        self._inner = inner_stations(limits, entry_m, HEIGHTS_M)
        self._highest, self._lowest = limits.highest_m(self._inner), limits.lowest_m(self._inner)
        self._stations = np.concatenate([*self._along, self._inner])
        self._ends = np.cumsum([len(one) for one in self._along])

    def measured(self, rods: RodProfile) -> Measured:
        """A profile with its margins and its excess.

        Parameters
        ----------
        rods : RodProfile
        """
        if rods.entry_station_m != self._entry_m:
            self._begin_at(rods.entry_station_m)
        *beside, inner = np.split(rods.at(self._stations).elevations_m, self._ends)
        margins_m, nearest_m = np.full(len(beside), np.nan), np.full(len(beside), np.nan)
        for number, (obstacle, stations, elevations) in enumerate(
            zip(self._obstacles, self._along, beside, strict=True)
        ):
            if len(stations):
                margins = obstacle.margins_m(stations, elevations)
                nearest = int(margins.argmin())
                margins_m[number], nearest_m[number] = margins[nearest], stations[nearest]
        self._look_closer(rods, margins_m, nearest_m)
        known = margins_m[~np.isnan(margins_m)]
        margin = float(known.min()) if len(known) else np.inf
        ends_excess = _excess_m(self._limits, rods)
        excess, outermost_at = ends_excess, float("nan")
        if len(inner):
            outside = np.maximum(inner - self._highest, self._lowest - inner)
            outermost = int(outside.argmax())
            excess = max(excess, float(outside[outermost]))
            outermost_at = float(self._inner[outermost])
        return Measured(rods, margin, margins_m, nearest_m, excess, ends_excess, outermost_at)

    def _look_closer(self, rods: RodProfile, margins_m: FloatArray, nearest_m: FloatArray) -> None:
        """Sample the least margins closer about where they were found, and put in what is less."""
        if np.all(np.isnan(margins_m)):
            return
        near = np.flatnonzero(margins_m <= np.nanmin(margins_m) + CLOSE_M).tolist()
        about = [_about(self._along[number], nearest_m[number]) for number in near]
        ends = np.cumsum([len(one) for one in about])
        elevations_m = np.split(rods.at(np.concatenate(about)).elevations_m, ends[:-1])
        for number, stations, elevations in zip(near, about, elevations_m, strict=True):
            margins = self._obstacles[number].margins_m(stations, elevations)
            nearest = int(margins.argmin())
            if margins[nearest] < margins_m[number]:
                margins_m[number], nearest_m[number] = margins[nearest], stations[nearest]


def _about(along_m: FloatArray, nearest_m: float) -> FloatArray:
    """Stations between the samples before and after one."""
    place = int(np.searchsorted(along_m, nearest_m))
    low, high = along_m[max(0, place - 1)], along_m[min(len(along_m) - 1, place + 1)]
    return np.linspace(low, high, 2 * CLOSER + 1)


def _along(obstacle: Obstacle, first_m: float, last_m: float) -> FloatArray:
    low, high = max(first_m, obstacle.from_m), min(last_m, obstacle.to_m)
    if low > high:
        return np.empty(0)
    return np.linspace(low, high, int(np.ceil((high - low) / MEASURED_M)) + 1)


def inner_stations(limits: ProfileLimits, first_m: float, apart_m: float) -> FloatArray:
    """Stations at which the heights allowed are asked: so far apart, and where those heights change."""
    count = int(np.ceil((limits.length_m - first_m) / apart_m))
    even = np.linspace(first_m, limits.length_m, count + 1)
    edges = np.array([limits.covered_m.least, limits.covered_m.greatest])
    both = np.unique(np.concatenate([even, edges, limits.ground.stations_m]))
    return both[(both > first_m) & (both < limits.length_m)]


def turns_left_rad(limits: ProfileLimits, rods: RodProfile) -> FloatArray:
    """What each rod may turn in pitch; negative where the alignment alone turns it too much.

    Notes
    -----
    The alignment's heading at a joint is read where `path.rod_headings_rad` reads it: at the joint's distance
    along straight rods, each at the pitch of its end.
    """
    runs = rods.entry_station_m + np.concatenate(
        [[0.0], np.cumsum(rods.lengths_m * np.cos(rods.angles_rad[1:]))]
    )
    level = limits.level_turns_rad(runs[:-1] + SAME_POINT_M, runs[1:] + SAME_POINT_M)
    return limits.turns_left_rad(rods.lengths_m, level)


def _excess_m(limits: ProfileLimits, rods: RodProfile) -> float:
    """By how much a profile breaks the worst broken limit but for the heights between its ends.

    Turns count by what they move a rod's end.
    """
    ends, heights = rods.joints_m()
    wanted, entry = limits.exit_elevation_m, limits.entry_elevation_m(rods.entry_station_m)
    over_turned = np.abs(rods.turns_rad) - turns_left_rad(limits, rods)
    steepest = float(np.arctan(limits.steepest_pitch_ratio))
    turns = [
        float(over_turned.max()),
        abs(float(rods.turns_rad[0])),
        float(np.abs(rods.angles_rad).max()) - steepest,
    ]
    for angle, pitch in (
        (rods.angles_rad[0], limits.entry_pitch_ratio),
        (rods.angles_rad[-1], limits.exit_pitch_ratio),
    ):
        turns += [float(np.arctan(pitch.least) - angle), float(angle - np.arctan(pitch.greatest))]
    breaches = [
        abs(ends[-1] - limits.length_m),
        heights[-1] - wanted.greatest,
        wanted.least - heights[-1],
        rods.entry_elevation_m - entry.greatest,
        entry.least - rods.entry_elevation_m,
        limits.entry_station_m.least - rods.entry_station_m,
        rods.entry_station_m - limits.entry_station_m.greatest,
        limits.rod_length_m * (max(turns) - SLACK_RAD),
    ]
    return float(max(0.0, *breaches))
