"""Rods in the plane of an alignment that follow what was drilled, and end exactly where its bit is.

Joints were located with errors, and a chain of arcs through every one of them would wind about what was
drilled. So lengths and pitches are moved as little as their own errors ask for, by least squares, while the
end is kept: its station, elevation and pitch.
"""

from dataclasses import dataclass

import numpy as np

from conflicts.engine.errors import PathError
from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_arcs import RodProfile, rod_slopes

# What a pitch that was read may be off by, rad, and a rod's length laid along the alignment, m (common
# practice, no source): the first as the look-ahead takes it.
PITCH_SIGMA_RAD = 0.005
LENGTH_SIGMA_M = 0.05
# The end is met to this, m, in so many steps at most; each one squares what is left.
END_M = 1e-9
MOST_STEPS = 20


@dataclass(frozen=True, eq=False)
class Readings:
    """What was read of rods that begin at station 0.

    Attributes
    ----------
    entry_elevation_m : float
    lengths_m : (n,) float array
    angles_rad : (n,) float array
        Pitch angle at the end of each rod.
    elevations_m, sigmas_m : (n - 1,) float arrays
        Elevation of each joint but the last, and what it may be off by, above 0.
    end_m : tuple of float
        Station and elevation at which the last rod ends.
    """

    entry_elevation_m: float
    lengths_m: FloatArray
    angles_rad: FloatArray
    elevations_m: FloatArray
    sigmas_m: FloatArray
    end_m: tuple[float, float]


def rods_through(read: Readings) -> RodProfile:
    """Rods that follow readings and end exactly where the last one does, at the pitch read there.

    Parameters
    ----------
    read : Readings

    Returns
    -------
    RodProfile
        As many rods as were read.

    Raises
    ------
    PathError
        Readings that no rods come near to.

    Notes
    -----
    Gauss-Newton steps on the exact arcs, the end as Lagrangian constraints. The pitch at the entry, which
    nobody read, is taken as that of the first rod, which begins straight.
    """
    count = len(read.lengths_m)
    wanted = np.concatenate([read.angles_rad[:1], read.angles_rad[:-1], read.lengths_m])
    weights = np.concatenate([np.full(count, 1.0 / PITCH_SIGMA_RAD), np.full(count, 1.0 / LENGTH_SIGMA_M)])
    figures = wanted.copy()
    for _ in range(MOST_STEPS):
        rods = _rods_of(read, figures)
        stations, elevations = rods.joints_m()
        missed = np.array(read.end_m) - (stations[-1], elevations[-1])
        if np.abs(missed).max() < END_M:
            return rods
        runs, rises = _by_figures(rods)
        joints = rises[:-1] / read.sigmas_m[:, None]
        asked = np.vstack([np.diag(weights), joints])
        left = np.concatenate(
            [weights * (wanted - figures), (read.elevations_m - elevations[1:-1]) / read.sigmas_m]
        )
        ends = np.vstack([runs[-1], rises[-1]])
        matrix = np.block([[asked.T @ asked, ends.T], [ends, np.zeros((2, 2))]])
        step = np.linalg.solve(matrix, np.concatenate([asked.T @ left, missed]))
        figures = figures + step[: 2 * count]
        if not (figures[count:] > 0.0).all() or np.abs(figures[:count]).max() >= 0.5 * np.pi:
            break
    raise PathError("the rods in the ground cannot be laid along the planned alignment")


def _rods_of(read: Readings, figures: FloatArray) -> RodProfile:
    count = len(read.lengths_m)
    angles = np.append(figures[:count], read.angles_rad[-1])
    return RodProfile(0.0, read.entry_elevation_m, figures[count:], angles)


def _by_figures(rods: RodProfile) -> tuple[FloatArray, FloatArray]:
    """How station and elevation of each joint move with angles and lengths, as two (n, 2 n) arrays."""
    count = len(rods.lengths_m)
    runs, rises = rod_slopes(rods.lengths_m, rods.angles_rad)
    stations, elevations = rods.joints_m()
    found = []
    for slopes, steps in ((runs, np.diff(stations)), (rises, np.diff(elevations))):
        first, last = slopes.T
        # One row a rod: its near angle, its far angle (that of the last rod is kept), its length.
        own = np.zeros((count, 2 * count))
        own[np.arange(count), np.arange(count)] = first
        own[np.arange(count - 1), np.arange(1, count)] = last[:-1]
        own[np.arange(count), count + np.arange(count)] = steps / rods.lengths_m
        found.append(np.cumsum(own, axis=0))
    return found[0], found[1]
