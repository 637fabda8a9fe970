"""A rod-by-rod profile in its vertical plane: exact arcs, and how they move with the pitches at the joints.

Along an arc the pitch angle grows evenly with the length, so a rod from angle a to b of length L runs
L cos(m) sinc(h) level and L sin(m) sinc(h) up, with m = (a + b) / 2, h = (b - a) / 2, sinc(h) = sin(h) / h.
"""

from dataclasses import dataclass

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray

# Each step doubles the digits of a place along an arc: from a part of a rod to a nanometre. After a step
# shorter than this part of a rod the next one would be lost in rounding.
NEWTON_STEPS, LAST_STEP = 4, 1e-8
# Half a turn as small as this has its slopes by their series, rad.
SMALL_RAD = 1e-4

# Station and elevation of every joint, the length of every rod, and the pitch angle at every joint.
Joints = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


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
        stations, elevations = _joined(
            self.entry_station_m, self.entry_elevation_m, self.lengths_m, self.angles_rad
        )
        return stations, elevations

    @property
    def joints(self) -> Joints:
        """The joints as compiled functions take them."""
        return *self.joints_m(), self.lengths_m, self.angles_rad

    def at(self, stations_m: FloatArray) -> "PlacesOnRods":
        """The points of the profile at stations; those past an end lie on its tangent there."""
        return PlacesOnRods(*_places(self.joints, stations_m))


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


@nb.njit(cache=True)
def _joined(
    station_m: float, elevation_m: float, lengths_m: FloatArray, angles_rad: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Station and elevation of every joint."""
    stations, elevations = np.empty(len(angles_rad)), np.empty(len(angles_rad))
    stations[0], elevations[0] = station_m, elevation_m
    for rod in range(len(lengths_m)):
        run, rise = arc_step(angles_rad[rod], angles_rad[rod + 1])
        stations[rod + 1] = stations[rod] + lengths_m[rod] * run
        elevations[rod + 1] = elevations[rod] + lengths_m[rod] * rise
    return stations, elevations


@nb.njit(cache=True)
def _places(joints: Joints, stations_m: FloatArray) -> tuple[np.ndarray, FloatArray, FloatArray, FloatArray]:
    """`place_at` at each station."""
    rods, count = np.empty(len(stations_m), dtype=np.int64), len(stations_m)
    fractions, angles, elevations = np.empty(count), np.empty(count), np.empty(count)
    for index in range(count):
        rods[index], fractions[index], angles[index], elevations[index] = place_at(joints, stations_m[index])
    return rods, fractions, angles, elevations


@nb.njit(cache=True)
def place_at(joints: Joints, station_m: float) -> tuple[int, float, float, float]:
    """The point of a profile at a station, found by Newton's steps to a nanometre.

    Parameters
    ----------
    joints : Joints
    station_m : float
        Past an end the point lies on the tangent there.

    Returns
    -------
    rod : int
    fraction, angle_rad, elevation_m : float
        How far along the rod, and the pitch and the elevation there.
    """
    starts, heights, lengths, angles = joints
    rod = min(max(int(np.searchsorted(starts, station_m, side="right")) - 1, 0), len(lengths) - 1)
    wanted, length, first = station_m - starts[rod], lengths[rod], angles[rod]
    turn = angles[rod + 1] - first
    part = wanted / max(length * arc_step(first, first + turn)[0], 1e-12)
    for _ in range(NEWTON_STEPS):
        run = length * part * arc_step(first, first + part * turn)[0]
        step = (wanted - run) / (length * np.cos(first + part * turn))
        part += step
        if abs(step) < LAST_STEP:
            break
    angle = first + part * turn
    return rod, part, angle, heights[rod] + part * length * arc_step(first, angle)[1]


@nb.njit(cache=True)
def arc_step(first_rad: float, last_rad: float) -> tuple[float, float]:
    """Level and upward part of a unit length of an arc between two pitch angles.

    Parameters
    ----------
    first_rad, last_rad : float
    """
    middle, half = 0.5 * (first_rad + last_rad), 0.5 * (last_rad - first_rad)
    sinc = 1.0 if half == 0.0 else np.sin(half) / half
    return np.cos(middle) * sinc, np.sin(middle) * sinc


@nb.njit(cache=True)
def arc_slopes(first_rad: float, last_rad: float) -> tuple[float, float, float, float]:
    """Derivatives of `arc_step`: of the level part by the first and last angle, then of the upward part.

    Parameters
    ----------
    first_rad, last_rad : float
    """
    middle, half = 0.5 * (first_rad + last_rad), 0.5 * (last_rad - first_rad)
    sinc = 1.0 if half == 0.0 else np.sin(half) / half
    # (cos h - sinc h) / h, by its series where h is small.
    fall = -half / 3.0 if abs(half) < SMALL_RAD else (np.cos(half) - sinc) / half
    cos, sin = np.cos(middle), np.sin(middle)
    return (
        0.5 * (-sin * sinc - cos * fall),
        0.5 * (-sin * sinc + cos * fall),
        0.5 * (cos * sinc - sin * fall),
        0.5 * (cos * sinc + sin * fall),
    )


@nb.njit(cache=True)
def rod_slopes(lengths_m: FloatArray, angles_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How the far end of each rod moves against its near end, by the angles of both.

    Parameters
    ----------
    lengths_m : (n,) float array
    angles_rad : (n + 1,) float array
        At every joint.

    Returns
    -------
    runs, rises : (n, 2) float arrays
        Metres of station and of elevation a radian of the near and of the far angle.
    """
    runs, rises = np.empty((len(lengths_m), 2)), np.empty((len(lengths_m), 2))
    for rod in range(len(lengths_m)):
        run_first, run_last, rise_first, rise_last = arc_slopes(angles_rad[rod], angles_rad[rod + 1])
        runs[rod, 0], runs[rod, 1] = lengths_m[rod] * run_first, lengths_m[rod] * run_last
        rises[rod, 0], rises[rod, 1] = lengths_m[rod] * rise_first, lengths_m[rod] * rise_last
    return runs, rises


@nb.njit(cache=True)
def place_slopes(
    length_m: float, first_rad: float, fraction: float, angle_rad: float
) -> tuple[float, float, float, float]:
    """How the elevation at a fixed station moves with the rod that lies there.

    Parameters
    ----------
    length_m, first_rad : float
        Of the rod, and the pitch angle at its near end.
    fraction, angle_rad : float
        How far along the rod the station lies, and the pitch angle there.

    Returns
    -------
    by_first, by_last : float
        Metres a radian of the angle at the near and at the far end of the rod.
    by_length : float
        A metre of the rod's length.
    by_station : float
        A metre that the near end moves in station; it moves in elevation one for one.

    Notes
    -----
    A joint that moves carries the arc with it; at a fixed station the arc's own slope takes the move's level
    part back: dz = dz_point - tan(angle) dx_point.
    """
    run_first, run_last, rise_first, rise_last = arc_slopes(first_rad, angle_rad)
    run, rise = arc_step(first_rad, angle_rad)
    tangent, along = np.tan(angle_rad), fraction * length_m
    by_near, by_here = rise_first - tangent * run_first, rise_last - tangent * run_last
    return (
        # The angle inside the rod is (1 - t) of the first and t of the last.
        along * (by_near + (1.0 - fraction) * by_here),
        along * fraction * by_here,
        fraction * (rise - tangent * run),
        -tangent,
    )
