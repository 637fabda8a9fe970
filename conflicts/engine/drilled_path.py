"""The path that was drilled: the shape that the readings give, drawn through the places that were fixed."""

from dataclasses import dataclass

import numpy as np

from conflicts.engine.arcs import minimum_curvature, points_along, tangents, turn_angles_rad
from conflicts.engine.errors import PathError
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.engine.path import SAME_POINT_M, BorePath, Rods, rod_headings_rad


@dataclass(frozen=True, eq=False)
class RawPath:
    """Rods joined by arcs from the entry, by pitch and heading alone.

    Attributes
    ----------
    lengths_m : (n + 1,) float array
        Measured length at the entry and at the end of each rod.
    joints_m : (n + 1, 3) float array
        East, north, up there.
    points_m : (k, 3) float array
        Points on the arcs, joints among them.
    points_at_m : (k,) float array
        Measured length at each of the points.
    headings_rad : (n + 1,) float array
        Clockwise from the frame's north, the alignment's where none was read.
    turns_rad : (n,) float array
        Turn of each rod in three dimensions.
    """

    lengths_m: FloatArray
    joints_m: FloatArray
    points_m: FloatArray
    points_at_m: FloatArray
    headings_rad: FloatArray
    turns_rad: FloatArray


def raw_path(
    alignment_m: FloatArray,
    entry_elevation_m: float,
    lengths_m: FloatArray,
    pitches_ratio: FloatArray,
    headings_rad: FloatArray,
) -> RawPath:
    """The shape of a drilled bore by its readings alone.

    Parameters
    ----------
    alignment_m : (m, 2) float array
        The planned bore in plan; it begins at the entry.
    entry_elevation_m : float
    lengths_m, pitches_ratio, headings_rad : (n,) float arrays
        Of each rod: its length, and pitch and heading read at its end. A pitch is a tangent, down negative; a
        heading is NaN where none was read, and the rod then follows the alignment.

    Returns
    -------
    RawPath

    Raises
    ------
    PathError
        No rod, figures that are not finite, or a rod that turns back on itself.

    Notes
    -----
    Minimum curvature (API Bulletin D20). Nothing is read at the entry, so the first rod is straight, at the
    attitude read at its end.
    """
    if len(lengths_m) == 0:
        raise PathError("a drilled path needs at least one rod")
    steps = np.concatenate([[0.0], lengths_m])
    rods = Rods(
        entry_elevation_m,
        steps,
        np.concatenate([pitches_ratio[:1], pitches_ratio]),
        np.concatenate([headings_rad[:1], headings_rad]),
    )
    headings = rod_headings_rad(alignment_m, rods)
    lengths = np.cumsum(steps)
    entry = np.array([alignment_m[0, 0], alignment_m[0, 1], entry_elevation_m])
    joints = minimum_curvature(lengths, rods.inclinations_rad, headings) + entry
    points = points_along(lengths, rods.inclinations_rad, headings) + entry
    turns = turn_angles_rad(tangents(rods.inclinations_rad, headings))
    return RawPath(lengths, joints, points, _lengths_at(points, joints, lengths), headings, turns)


def _lengths_at(points: FloatArray, joints: FloatArray, lengths: FloatArray) -> FloatArray:
    """Measured length at points on the arcs: within a rod their chords are equally long."""
    along = chainages_m(points)
    at_joint = np.empty(len(joints))
    place = 0
    for index, joint in enumerate(joints):
        distance = np.abs(points[place:] - joint).max(axis=1)
        place += int(np.flatnonzero(distance <= distance.min() + SAME_POINT_M)[0])
        at_joint[index] = along[place]
    return np.asarray(np.interp(along, at_joint, lengths), dtype=float)


def spread(at_m: FloatArray, fixed_at_m: FloatArray, corrections_m: FloatArray) -> FloatArray:
    """Corrections spread along a path: none at the entry, linear between fixes, held past the last.

    Parameters
    ----------
    at_m : (k,) float array
        Measured lengths asked for.
    fixed_at_m : (f,) float array
        Measured lengths of the fixes, increasing, none of them 0.
    corrections_m : (f,) float array
        What the raw path is moved by there.

    Returns
    -------
    (k,) float array
    """
    return np.asarray(
        np.interp(at_m, np.concatenate([[0.0], fixed_at_m]), np.concatenate([[0.0], corrections_m])),
        dtype=float,
    )


def path_through(points_m: FloatArray) -> BorePath:
    """A bore path of points by their own horizontal distance; points that do not go on are left out.

    Parameters
    ----------
    points_m : (k, 3) float array

    Raises
    ------
    PathError
        A path that goes straight down.
    """
    keep = [0]
    for index in range(1, len(points_m)):
        if np.linalg.norm(points_m[index, :2] - points_m[keep[-1], :2]) > SAME_POINT_M:
            keep.append(index)
    if len(keep) < 2:
        raise PathError("a drilled path that does not leave its entry has no stations")
    return BorePath(chainages_m(points_m[keep, :2]), points_m[keep])
