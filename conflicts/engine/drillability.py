"""Whether a rig can drill a path: bend radius, entry and exit pitch, cover."""

from dataclasses import dataclass

import numpy as np

from conflicts.engine.arcs import turn_angles_rad
from conflicts.engine.frame import FloatArray
from conflicts.engine.path import BorePath, Ground

# Relative slack on a limit, so that a profile drawn exactly at it is not refused for its last digit.
SLACK_RATIO = 1e-6


@dataclass(frozen=True)
class Bend:
    """A bend that is tighter than the rig allows.

    Attributes
    ----------
    station_m : float
    radius_m : float
        The widest arc that fits there.
    """

    station_m: float
    radius_m: float


def tightest_kink(path: BorePath) -> Bend | None:
    """The kink of a path of straight pieces that leaves least room for an arc; None for a straight path.

    Notes
    -----
    An arc of radius R that rounds a turn of angle b off takes R tan(b/2) of each piece beside it (tangent
    length of a circular curve, plane geometry). Two kinks share the piece between them in proportion to
    tan(b/2), so the widest radius that fits on it is its length over the sum of the two.
    """
    steps = np.diff(path.points_m, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    tangents_half = np.tan(0.5 * turn_angles_rad(steps / lengths[:, None]))
    is_kink = tangents_half > 1e-9
    if not is_kink.any():
        return None
    kinks = np.flatnonzero(is_kink) + 1
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    # Straight runs: from the entry to the first kink, between kinks, and from the last to the exit.
    run_ends = np.concatenate([[0.0], along[kinks], [along[-1]]])
    runs = np.diff(run_ends)
    halves = np.concatenate([[0.0], tangents_half[is_kink], [0.0]])
    radii = runs / (halves[:-1] + halves[1:])
    at_kink = np.minimum(radii[:-1], radii[1:])
    tightest = int(at_kink.argmin())
    return Bend(float(path.stations_m[kinks[tightest]]), float(at_kink[tightest]))


def tightest_rod(lengths_m: FloatArray, turns_rad: FloatArray, stations_m: FloatArray) -> Bend | None:
    """The rod with the smallest radius: its length over its turn in three dimensions.

    Parameters
    ----------
    lengths_m, turns_rad : (n,) float arrays
        Of each rod.
    stations_m : (n,) float array
        Station of the joint before each rod.
    """
    turning = turns_rad > 1e-9
    if not turning.any():
        return None
    radii = np.where(turning, lengths_m / np.where(turning, turns_rad, 1.0), np.inf)
    tightest = int(radii.argmin())
    return Bend(float(stations_m[tightest]), float(radii[tightest]))


def end_pitches_ratio(path: BorePath) -> tuple[float, float]:
    """Rise over run of the first and of the last piece of a path, down negative."""
    rise = np.diff(path.points_m[:, 2]) / np.diff(path.stations_m)
    return float(rise[0]), float(rise[-1])


def least_cover(path: BorePath, ground: Ground, radius_m: float, wanted_m: float) -> tuple[float, float]:
    """The least cover over the hole between where it first and where it last has the cover wanted.

    Parameters
    ----------
    path : BorePath
    ground : Ground
    radius_m : float
        Of the final hole; cover is from its top to the ground straight above.
    wanted_m : float

    Returns
    -------
    cover_m, station_m : float
        Where the wanted cover is reached nowhere, the greatest cover there is.

    Notes
    -----
    A bore from the surface has no cover at its ends: the runs down from the entry and up to the exit do not
    count. Both ground and path are straight between their stations, so the least is at one of them.
    """
    inner = ground.stations_m[(ground.stations_m > 0.0) & (ground.stations_m < path.length_m)]
    stations = np.unique(np.concatenate([path.stations_m, inner]))
    elevations = np.interp(stations, path.stations_m, path.points_m[:, 2])
    cover = ground.at(stations) - elevations - radius_m
    reached = np.flatnonzero(cover >= wanted_m * (1.0 - SLACK_RATIO))
    if len(reached) == 0:
        at = int(cover.argmax())
    else:
        first, last = reached[0], reached[-1]
        at = int(first + cover[first : last + 1].argmin())
    return float(cover[at]), float(stations[at])
