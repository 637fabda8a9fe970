"""Marks as lines in plan: where the test holes found them, and their tolerance zones to true scale."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

import numpy as np
import shapely
from numpy.typing import NDArray

from conflicts.drawing.map_input import MapHole, MapJob, MapMark
from conflicts.engine.frame import FloatArray, GroundFrame
from conflicts.engine.line import FoundHoles, LineSize, buried_line, line_size

# A found line nearer than this to its paint is drawn with it: the paint's own width.
AWAY_M = 0.05
# How far the corners of a drawn zone may cut its round ends: less than the width of a drawn line at any zoom.
ROUNDING_M = 0.005


@dataclass(frozen=True, eq=False)
class PlanLine:
    """A mark's line in plan.

    Attributes
    ----------
    painted_m : (k, 2) float array
        As painted, east and north in the frame; a single point has no extent.
    points_m : (n, 2) float array
        Where it lies, as its test holes found it.
    size : LineSize
    found_in : tuple of str
        The test holes that found it.
    """

    painted_m: FloatArray
    points_m: FloatArray
    size: LineSize
    found_in: tuple[str, ...]


def plan_lines(
    marks: Sequence[MapMark], holes: Sequence[MapHole], job: MapJob, frame: GroundFrame
) -> list[PlanLine]:
    """The lines of marks, each moved by the test holes that found it.

    Parameters
    ----------
    marks, holes : sequences of MapMark and MapHole
    job : MapJob
        Without a reach no line is moved.
    frame : GroundFrame
    """
    exposing = [hole for hole in holes if hole.found and hole.mark_id is not None]
    found: dict[UUID | None, list[tuple[MapHole, FloatArray]]] = defaultdict(list)
    for hole, position_m in zip(exposing, _positions_m(exposing, frame), strict=True):
        found[hole.mark_id].append((hole, position_m))
    coordinates, owner = shapely.get_coordinates([mark.shape for mark in marks], return_index=True)
    painted_m = frame.to_ground(coordinates[:, 0], coordinates[:, 1]) if len(marks) else np.empty((0, 2))
    ends = np.searchsorted(owner, np.arange(len(marks)), side="right")
    pieces = np.split(painted_m, ends[:-1]) if len(marks) else []
    return [
        _plan_line(mark, points, found.get(mark.mark_id, []), job)
        for mark, points in zip(marks, pieces, strict=True)
    ]


def _positions_m(holes: Sequence[MapHole], frame: GroundFrame) -> FloatArray:
    lon_lat = shapely.get_coordinates([hole.shape for hole in holes])
    return frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])


def _plan_line(
    mark: MapMark, painted_m: FloatArray, found: list[tuple[MapHole, FloatArray]], job: MapJob
) -> PlanLine:
    size = line_size(
        measured=[(hole.outside_width_m, hole.outside_height_m) for hole, _ in found],
        stated_width_m=mark.stated_width_m,
        stated_height_m=mark.stated_height_m,
        default_m=job.outside_m[mark.facility_type],
    )
    refs = tuple(hole.ref for hole, _ in found)
    if not found or job.reach_m is None:
        return PlanLine(painted_m, painted_m, size, refs)
    holes = FoundHoles(
        np.array([position for _, position in found]),
        # Only the plan is drawn: heights of the tops are counted from the ground at each hole.
        -np.array([hole.depth_to_top_m for hole, _ in found], dtype=float),
        np.zeros(len(found)),
    )
    line = buried_line(painted_m, holes, size, job.reach_m)
    return PlanLine(painted_m, line.points_m[:, :2], size, refs)


def stretches_away(lines: Sequence[PlanLine]) -> list[list[FloatArray]]:
    """Where test holes found each line away from its paint, as polylines of the frame.

    Parameters
    ----------
    lines : sequence of PlanLine

    Returns
    -------
    list of list of (k, 2) float arrays
        Empty for a line that lies within `AWAY_M` of its paint.
    """
    moved = [index for index, line in enumerate(lines) if line.points_m is not line.painted_m]
    paint = shapely.buffer(_shapes([lines[index].painted_m for index in moved]), AWAY_M)
    found = _shapes([lines[index].points_m for index in moved])
    parts, owner = shapely.get_parts(shapely.difference(found, paint), return_index=True)
    away: list[list[FloatArray]] = [[] for _ in lines]
    for part, index in zip(parts, owner, strict=True):
        points = shapely.get_coordinates(part)
        if len(points) > 1:
            away[moved[index]].append(points)
    return away


def tolerance_zones(lines: Sequence[PlanLine], tolerance_zone_m: float) -> NDArray[np.object_]:
    """The strips in which digging is restricted: the tolerance zone either side of each line's outside edge.

    Parameters
    ----------
    lines : sequence of PlanLine
    tolerance_zone_m : float
        From the outside edge.

    Returns
    -------
    (n,) array of shapely.Polygon
        In metres of the frame; the corners of the round ends cut them by `ROUNDING_M` at most.
    """
    if not lines:
        return np.empty(0, dtype=object)
    shapes = _shapes([line.points_m for line in lines])
    widths_m = tolerance_zone_m + np.array([line.size.plan_radius_m for line in lines])
    return np.asarray(shapely.buffer(shapes, widths_m, quad_segs=_quarter_pieces(float(widths_m.max()))))


def _shapes(polylines_m: Sequence[FloatArray]) -> NDArray[np.object_]:
    """Polylines as shapely's, those of one vertex as points."""
    if not polylines_m:
        return np.empty(0, dtype=object)
    counts = np.array([len(points) for points in polylines_m])
    coordinates = np.concatenate(polylines_m)
    shapes = np.empty(len(counts), dtype=object)
    is_point = counts == 1
    of_points = np.repeat(is_point, counts)
    shapes[is_point] = shapely.points(coordinates[of_points])
    rows = np.repeat(np.arange(np.count_nonzero(~is_point)), counts[~is_point])
    shapes[~is_point] = shapely.linestrings(coordinates[~of_points], indices=rows)
    return shapes


def _quarter_pieces(radius_m: float) -> int:
    """Chords to a quarter circle that leave its arc by no more than `ROUNDING_M`."""
    if radius_m <= ROUNDING_M:
        return 1
    return int(np.ceil(0.25 * np.pi / np.arccos(1.0 - ROUNDING_M / radius_m)))
