"""A rod-by-rod profile in its vertical plane: exact arcs, and how they move with the pitches at the joints.

Along an arc the pitch angle grows evenly with the length, so a rod from angle a to b of length L runs
L cos(m) sinc(h) level and L sin(m) sinc(h) up, with m = (a + b) / 2, h = (b - a) / 2, sinc(h) = sin(h) / h.
"""

from dataclasses import dataclass

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray

# Each step doubles the digits of a place along an arc: from a part of a rod to a nanometre.
NEWTON_STEPS = 4


@dataclass(frozen=True, eq=False)
class RodProfile:
    """Rods in the vertical plane of the alignment.

    Attributes
    ----------
    entry_station_m, entry_elevation_m : float
    lengths_m : (n,) float array
        Of each rod.
    angles_rad : (n + 1,) float array
        Pitch angle at each joint, down negative.
    """

    entry_station_m: float
    entry_elevation_m: float
    lengths_m: FloatArray
    angles_rad: FloatArray

    @property
    def length_m(self) -> float:
        """Length along the rods."""
        return float(self.lengths_m.sum())

    @property
    def turns_rad(self) -> FloatArray:
        """Turn in pitch of each rod, as an (n,) array."""
        return np.diff(self.angles_rad)

    def joints_m(self) -> tuple[FloatArray, FloatArray]:
        """Station and elevation of every joint, the entry first, as two (n + 1,) arrays."""
        run, rise = _steps(self.angles_rad[:-1], self.angles_rad[1:])
        stations = self.entry_station_m + np.concatenate([[0.0], np.cumsum(self.lengths_m * run)])
        elevations = self.entry_elevation_m + np.concatenate([[0.0], np.cumsum(self.lengths_m * rise)])
        return stations, elevations

    def at(self, stations_m: FloatArray) -> "PlacesOnRods":
        """The points of the profile at stations; those past an end lie on its tangent there."""
        return PlacesOnRods.of(self, stations_m)


@dataclass(frozen=True, eq=False)
class PlacesOnRods:
    """Points of a profile at stations.

    Attributes
    ----------
    rods : (k,) int array
        The rod of each.
    fractions : (k,) float array
        How far along it.
    angles_rad, elevations_m : (k,) float arrays
    """

    rods: np.ndarray
    fractions: FloatArray
    angles_rad: FloatArray
    elevations_m: FloatArray

    @classmethod
    def of(cls, profile: RodProfile, stations_m: FloatArray) -> "PlacesOnRods":
        """The points of a profile at stations, found by Newton's steps to a nanometre."""
        starts, heights = profile.joints_m()
        rods = np.clip(np.searchsorted(starts, stations_m, side="right") - 1, 0, len(profile.lengths_m) - 1)
        lengths = profile.lengths_m[rods]
        fractions, angles, rise = _along_arcs(
            stations_m - starts[rods], lengths, profile.angles_rad[rods], profile.turns_rad[rods]
        )
        return cls(rods, fractions, angles, heights[rods] + fractions * lengths * rise)


@nb.njit(cache=True)
def _along_arcs(
    wanted_m: FloatArray, lengths_m: FloatArray, first_rad: FloatArray, turns_rad: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Fraction of its rod, angle there and rise of a unit, at each level distance from its near end."""
    fractions, angles, rises = np.empty_like(wanted_m), np.empty_like(wanted_m), np.empty_like(wanted_m)
    for index in range(len(wanted_m)):
        first, turn, length = first_rad[index], turns_rad[index], lengths_m[index]
        part = wanted_m[index] / max(length * _step(first, first + turn)[0], 1e-12)
        for _ in range(NEWTON_STEPS):
            run = length * part * _step(first, first + part * turn)[0]
            part += (wanted_m[index] - run) / (length * np.cos(first + part * turn))
        fractions[index], angles[index] = part, first + part * turn
        rises[index] = _step(first, angles[index])[1]
    return fractions, angles, rises


@nb.njit(cache=True)
def _step(first_rad: float, last_rad: float) -> tuple[float, float]:
    """`_steps` of one arc."""
    middle, half = 0.5 * (first_rad + last_rad), 0.5 * (last_rad - first_rad)
    sinc = 1.0 if half == 0.0 else np.sin(half) / half
    return np.cos(middle) * sinc, np.sin(middle) * sinc


def _steps(first_rad: FloatArray, last_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Level and upward part of a unit length of arcs between two pitch angles."""
    middle, half = 0.5 * (first_rad + last_rad), 0.5 * (last_rad - first_rad)
    sinc = np.sinc(half / np.pi)
    return np.cos(middle) * sinc, np.sin(middle) * sinc


def _slopes(
    first_rad: FloatArray, last_rad: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Derivatives of `_steps`: of the level part by the first and last angle, then of the upward part."""
    middle, half = 0.5 * (first_rad + last_rad), 0.5 * (last_rad - first_rad)
    sinc = np.sinc(half / np.pi)
    # (cos h - sinc h) / h, by its series where h is small.
    small = np.abs(half) < 1e-4
    safe = np.where(small, 1.0, half)
    fall = np.where(small, -half / 3.0, (np.cos(safe) - np.sinc(safe / np.pi)) / safe)
    cos, sin = np.cos(middle), np.sin(middle)
    return (
        0.5 * (-sin * sinc - cos * fall),
        0.5 * (-sin * sinc + cos * fall),
        0.5 * (cos * sinc - sin * fall),
        0.5 * (cos * sinc + sin * fall),
    )


@dataclass(frozen=True, eq=False)
class RodSlopes:
    """How the far end of each rod moves against its near end, by the angles of both.

    Attributes
    ----------
    run_first, run_last, rise_first, rise_last : (n,) float arrays
        Metres of station and of elevation a radian of the near and of the far angle.
    run_by_length, rise_by_length : float
        Of the last rod, a metre of its length: a longer one at the same turn is a wider arc.
    """

    run_first: FloatArray
    run_last: FloatArray
    rise_first: FloatArray
    rise_last: FloatArray
    run_by_length: float
    rise_by_length: float


def rod_slopes(profile: RodProfile) -> RodSlopes:
    """How the rods of a profile move with what makes it."""
    first, last = profile.angles_rad[:-1], profile.angles_rad[1:]
    run, rise = _steps(first[-1:], last[-1:])
    run_first, run_last, rise_first, rise_last = (one * profile.lengths_m for one in _slopes(first, last))
    return RodSlopes(run_first, run_last, rise_first, rise_last, float(run[0]), float(rise[0]))


@dataclass(frozen=True, eq=False)
class PlaceSlopes:
    """How the elevation at fixed stations moves with the rod that lies there.

    Attributes
    ----------
    by_first, by_last : (k,) float arrays
        Metres a radian of the angle at the near and at the far end of the rod.
    by_length : (k,) float array
        A metre of the last rod's length; 0 on other rods.
    by_station : (k,) float array
        A metre that the near end moves in station; it moves in elevation one for one.
    """

    by_first: FloatArray
    by_last: FloatArray
    by_length: FloatArray
    by_station: FloatArray


def place_slopes(profile: RodProfile, places: PlacesOnRods) -> PlaceSlopes:
    """How the elevation at fixed stations moves with the rods.

    Parameters
    ----------
    profile : RodProfile
    places : PlacesOnRods
        Of the stations.

    Notes
    -----
    A joint that moves carries the arc with it; at a fixed station the arc's own slope takes the move's level
    part back: dz = dz_point - tan(angle) dx_point.
    """
    rods, part = places.rods, places.fractions
    first, length = profile.angles_rad[rods], part * profile.lengths_m[rods]
    run_first, run_last, rise_first, rise_last = _slopes(first, places.angles_rad)
    tangent = np.tan(places.angles_rad)
    by_near = rise_first - tangent * run_first
    by_here = rise_last - tangent * run_last
    run, rise = _steps(first, places.angles_rad)
    is_last = rods == len(profile.lengths_m) - 1
    return PlaceSlopes(
        # The angle inside the rod is (1 - t) of the first and t of the last.
        length * (by_near + (1.0 - part) * by_here),
        length * part * by_here,
        np.where(is_last, part * (rise - tangent * run), 0.0),
        -tangent,
    )
