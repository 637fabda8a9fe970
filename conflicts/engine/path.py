"""The path of a bore: its centre line in three dimensions by station."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from conflicts.engine.arcs import points_along, tangents, turn_angles_rad
from conflicts.engine.errors import PathError
from conflicts.engine.frame import FloatArray, chainages_m

# Vertices nearer than this in plan are one vertex.
SAME_POINT_M = 1e-9
# A profile whose last station is this near to the alignment's length ends with it.
END_STATION_M = 0.01


@dataclass(frozen=True, eq=False)
class BorePath:
    """The centre line of a bore as a polyline that stands for it to within `arcs.CHORD_ERROR_M`.

    Attributes
    ----------
    stations_m : (n,) float array
        Horizontal distance from the entry point, strictly increasing.
    points_m : (n, 3) float array
        East, north, up (elevation in the job's datum).
    """

    stations_m: FloatArray
    points_m: FloatArray

    @property
    def length_m(self) -> float:
        """Horizontal length, metres."""
        return float(self.stations_m[-1])

    def at(self, station_m: float) -> FloatArray:
        """East, north, up at a station, as a (3,) array; ends are held."""
        return np.array([np.interp(station_m, self.stations_m, self.points_m[:, k]) for k in range(3)])


@dataclass(frozen=True, eq=False)
class Rods:
    """A rod-by-rod plan: the attitude at each joint and the length since the joint before.

    Attributes
    ----------
    entry_elevation_m : float
    lengths_m : (n,) float array
        The first is 0.
    pitches_ratio : (n,) float array
        Rise over run; down is negative.
    headings_rad : (n,) float array
        Clockwise from north; NaN where the rod follows the alignment.
    """

    entry_elevation_m: float
    lengths_m: FloatArray
    pitches_ratio: FloatArray
    headings_rad: FloatArray

    @property
    def inclinations_rad(self) -> FloatArray:
        """Angle from straight down at each joint: a pitch is a tangent."""
        inclinations: FloatArray = 0.5 * np.pi + np.arctan(self.pitches_ratio)
        return inclinations


@dataclass(frozen=True, eq=False)
class Ground:
    """The ground along a bore: linear in station between its points, held past the ends.

    With no points the ground is flat at elevation 0.
    """

    stations_m: FloatArray
    elevations_m: FloatArray

    def at(self, station_m: ArrayLike) -> FloatArray:
        """Ground elevation at stations, metres; the same shape as what is asked."""
        asked = np.asarray(station_m, dtype=float)
        if len(self.stations_m) == 0:
            return np.zeros_like(asked)
        return np.asarray(np.interp(asked, self.stations_m, self.elevations_m), dtype=float)


def distinct_points(points_m: ArrayLike) -> FloatArray:
    """A polyline without vertices that repeat the one before, as an (n, k) array."""
    points = np.asarray(points_m, dtype=float)
    if (np.abs(np.diff(points, axis=0)).max(axis=1, initial=0.0) > SAME_POINT_M).all():
        return points
    keep = [0]
    for index in range(1, len(points)):
        if np.linalg.norm(points[index] - points[keep[-1]]) > SAME_POINT_M:
            keep.append(index)
    return points[keep]


def path_of_profile(alignment_m: ArrayLike, stations_m: ArrayLike, elevations_m: ArrayLike) -> BorePath:
    """The path of an alignment with a profile of vertices joined straight in elevation.

    Parameters
    ----------
    alignment_m : (n, 2) array_like
        The alignment in plan, east and north.
    stations_m, elevations_m : (k,) array_like
        Profile vertices, stations strictly increasing; elevations are held past the ends. A last station
        within `END_STATION_M` of the alignment's length is taken as its length.

    Returns
    -------
    BorePath

    Raises
    ------
    PathError
        Fewer than two distinct alignment points, stations that do not increase, values that are not finite.
    """
    plan = _checked_alignment(alignment_m)
    chainage = chainages_m(plan)
    stations = np.asarray(stations_m, dtype=float)
    elevations = np.asarray(elevations_m, dtype=float)
    if stations.shape != elevations.shape or len(stations) < 2:
        raise PathError("a profile needs at least two vertices, each a station and an elevation")
    if not (np.isfinite(stations).all() and np.isfinite(elevations).all()):
        raise PathError("a profile vertex is not a finite number")
    if (np.diff(stations) <= 0.0).any():
        raise PathError("profile stations must increase")
    if abs(stations[-1] - chainage[-1]) <= END_STATION_M and stations[-2] < chainage[-1]:
        stations = np.concatenate([stations[:-1], chainage[-1:]])
    inside = stations[(stations > 0.0) & (stations < chainage[-1])]
    at = _merged(chainage, inside)
    return BorePath(at, np.column_stack([_plan_at(plan, chainage, at), np.interp(at, stations, elevations)]))


def path_of_rods(alignment_m: ArrayLike, rods: Rods) -> BorePath:
    """The path of a rod-by-rod plan, each rod an arc between the attitudes at its ends.

    Parameters
    ----------
    alignment_m : (n, 2) array_like
        The alignment in plan. Rods with no heading at all follow it; a path longer than it goes straight on.
    rods : Rods

    Returns
    -------
    BorePath
        Where a heading is given, its stations are the path's own horizontal distance from the entry.

    Raises
    ------
    PathError
        Fewer than two distinct alignment points, or rods that `arcs.minimum_curvature` refuses.
    """
    plan = _checked_alignment(alignment_m)
    lengths = np.cumsum(rods.lengths_m)
    if np.isnan(rods.headings_rad).all():
        # In the unrolled vertical plane (station as north) the path turns in pitch alone.
        unrolled = points_along(lengths, rods.inclinations_rad, np.zeros_like(lengths))
        stations, elevations = unrolled[:, 1], unrolled[:, 2] + rods.entry_elevation_m
        return path_of_profile(_reaching(plan, stations[-1]), stations, elevations)
    headings = rod_headings_rad(plan, rods)
    local = points_along(lengths, rods.inclinations_rad, headings)
    points = local + np.array([plan[0, 0], plan[0, 1], rods.entry_elevation_m])
    return BorePath(chainages_m(points[:, :2]), points)


def rod_headings_rad(alignment_m: FloatArray, rods: Rods) -> FloatArray:
    """Heading at each joint, the alignment's where the rod gives none.

    The alignment's heading is read at the joint's horizontal distance along straight rods; at a bend of the
    alignment it is that of the piece which follows.
    """
    chainage = chainages_m(alignment_m)
    run = np.cumsum(rods.lengths_m * np.sin(rods.inclinations_rad))
    piece = np.clip(np.searchsorted(chainage, run + SAME_POINT_M, side="right") - 1, 0, len(chainage) - 2)
    step = np.diff(alignment_m, axis=0)[piece]
    return np.where(np.isnan(rods.headings_rad), np.arctan2(step[:, 0], step[:, 1]), rods.headings_rad)


def rod_turns_rad(alignment_m: FloatArray, rods: Rods) -> FloatArray:
    """Turn of each rod in three dimensions, bends of the alignment included, as an (n - 1,) array."""
    return turn_angles_rad(tangents(rods.inclinations_rad, rod_headings_rad(alignment_m, rods)))


def _checked_alignment(alignment_m: ArrayLike) -> FloatArray:
    plan = np.asarray(alignment_m, dtype=float)
    if plan.ndim != 2 or plan.shape[1] != 2 or not np.isfinite(plan).all():
        raise PathError("an alignment is an array of east and north, all finite")
    plan = distinct_points(plan)
    if len(plan) < 2:
        raise PathError("an alignment needs two points that differ")
    return plan


def _reaching(plan: FloatArray, length_m: float) -> FloatArray:
    """The alignment cut, or carried straight on, to a length."""
    chainage = chainages_m(plan)
    if length_m > chainage[-1]:
        direction = (plan[-1] - plan[-2]) / (chainage[-1] - chainage[-2])
        return np.concatenate([plan[:-1], [plan[-1] + direction * (length_m - chainage[-1])]])
    kept = plan[chainage < length_m - SAME_POINT_M]
    return np.concatenate([kept, _plan_at(plan, chainage, np.array([length_m]))])


def _plan_at(plan: FloatArray, chainage: FloatArray, at: FloatArray) -> FloatArray:
    return np.column_stack([np.interp(at, chainage, plan[:, 0]), np.interp(at, chainage, plan[:, 1])])


def _merged(first: FloatArray, second: FloatArray) -> FloatArray:
    """Both sets of stations in order, those nearer than `SAME_POINT_M` taken once."""
    both = np.unique(np.concatenate([first, second]))
    merged = both[np.concatenate([[True], np.diff(both) > SAME_POINT_M])]
    merged[-1] = both[-1]
    return np.asarray(merged, dtype=float)
