"""Circular arcs between surveyed attitudes: minimum curvature, and points along its arcs."""

import numpy as np
from numpy.typing import ArrayLike

from conflicts.engine.errors import PathError
from conflicts.engine.frame import FloatArray

# An arc is cut into chords that miss it by at most this much; the design allows 1 mm.
CHORD_ERROR_M = 1e-5


def tangents(inclination_rad: ArrayLike, azimuth_rad: ArrayLike) -> FloatArray:
    """Unit vectors along a path.

    Parameters
    ----------
    inclination_rad, azimuth_rad : (n,) array_like
        Angle from straight down; heading clockwise from north.

    Returns
    -------
    (n, 3) float array
        East, north, up.
    """
    inclination = np.asarray(inclination_rad, dtype=float)
    azimuth = np.asarray(azimuth_rad, dtype=float)
    level = np.sin(inclination)
    return np.column_stack([level * np.sin(azimuth), level * np.cos(azimuth), -np.cos(inclination)])


def turn_angles_rad(directions: ArrayLike) -> FloatArray:
    """Turn in three dimensions between each unit vector and the next.

    Parameters
    ----------
    directions : (n, 3) array_like
        Unit vectors.

    Returns
    -------
    (n - 1,) float array
        Angles in [0, pi]; by half-chord and half-sum (Kahan), which keeps its digits for small turns, where
        the arc cosine of the usual formula loses them.
    """
    unit = np.asarray(directions, dtype=float)
    difference = np.linalg.norm(np.diff(unit, axis=0), axis=1)
    total = np.linalg.norm(unit[1:] + unit[:-1], axis=1)
    turns: FloatArray = 2.0 * np.arctan2(difference, total)
    return turns


def minimum_curvature(length_m: ArrayLike, inclination_rad: ArrayLike, azimuth_rad: ArrayLike) -> FloatArray:
    """Positions along a surveyed path, each pair of stations joined by a circular arc.

    Parameters
    ----------
    length_m : (n,) array_like
        Measured length at each station, not decreasing.
    inclination_rad, azimuth_rad : (n,) array_like
        Angle from straight down; heading clockwise from the frame's north.

    Returns
    -------
    (n, 3) float array
        East, north, up in metres from the first station.

    Raises
    ------
    PathError
        Lengths that decrease, arrays of different length, a value that is not finite.

    Notes
    -----
    Ratio-factor form, API Bulletin D20 (1985). Within 1e-9 m of closed-form arcs for lengths to 2 km.
    """
    length = np.asarray(length_m, dtype=float)
    inclination = np.asarray(inclination_rad, dtype=float)
    azimuth = np.asarray(azimuth_rad, dtype=float)
    if not (length.shape == inclination.shape == azimuth.shape) or length.ndim != 1 or len(length) == 0:
        raise PathError("lengths, inclinations and azimuths must be equally many, and at least one")
    if not (np.isfinite(length).all() and np.isfinite(inclination).all() and np.isfinite(azimuth).all()):
        raise PathError("a length, inclination or azimuth is not a finite number")
    step = np.diff(length)
    if (step < 0.0).any():
        raise PathError("measured lengths decrease")
    unit = tangents(inclination, azimuth)
    half_turn = 0.5 * turn_angles_rad(unit)
    if (half_turn > 0.5 * np.pi - 1e-9).any():
        raise PathError("a rod turns back on itself")
    moves = 0.5 * step[:, None] * (unit[:-1] + unit[1:]) * _ratio_factor(half_turn)[:, None]
    return np.concatenate([np.zeros((1, 3)), np.cumsum(moves, axis=0)])


def _ratio_factor(half_turn_rad: FloatArray) -> FloatArray:
    """tan(b/2) / (b/2), by its series where b is small."""
    small = half_turn_rad < 1e-4
    safe = np.where(small, 1.0, half_turn_rad)
    return np.where(small, 1.0 + half_turn_rad**2 / 3.0, np.tan(safe) / safe)


def points_along(length_m: ArrayLike, inclination_rad: ArrayLike, azimuth_rad: ArrayLike) -> FloatArray:
    """Points on the arcs of a surveyed path, close enough that chords between them stand for the arcs.

    Parameters
    ----------
    length_m, inclination_rad, azimuth_rad : (n,) array_like
        As for `minimum_curvature`.

    Returns
    -------
    (k, 3) float array
        East, north, up from the first station; every station is among them, and no chord misses its arc by
        more than `CHORD_ERROR_M`.

    Raises
    ------
    PathError
        As `minimum_curvature`.
    """
    joints = minimum_curvature(length_m, inclination_rad, azimuth_rad)
    unit = tangents(inclination_rad, azimuth_rad)
    turns = turn_angles_rad(unit)
    pieces = [joints[:1]]
    for index, (turn, step) in enumerate(zip(turns, np.diff(np.asarray(length_m, dtype=float)), strict=True)):
        if step == 0.0:
            continue
        if turn < 1e-9:
            pieces.append(joints[index + 1 : index + 2])
            continue
        # The sagitta of a chord of length c on radius r is c^2 / (8 r).
        chord = np.sqrt(8.0 * CHORD_ERROR_M * step / turn)
        count = int(np.ceil(step / chord))
        angle = turn * np.arange(1, count)[:, None] / count
        across = unit[index + 1] - np.cos(turn) * unit[index]
        across = across / np.linalg.norm(across)
        radius = step / turn
        inside = joints[index] + radius * (
            np.sin(angle) * unit[index] + 2.0 * np.sin(0.5 * angle) ** 2 * across
        )
        pieces.append(inside)
        pieces.append(joints[index + 1 : index + 2])
    return np.concatenate(pieces)
