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

    def stretches_away_m(self) -> list[FloatArray]:
        """Where test holes found the line away from its paint, as polylines of the frame."""
        if self.points_m is self.painted_m or len(self.points_m) < 2:
            return []
        is_line = len(self.painted_m) > 1
        paint = shapely.LineString(self.painted_m) if is_line else shapely.Point(self.painted_m[0])
        away = shapely.difference(shapely.LineString(self.points_m), shapely.buffer(paint, AWAY_M))
        return [shapely.get_coordinates(part) for part in shapely.get_parts(away) if not part.is_empty]


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
    found: dict[UUID, list[MapHole]] = defaultdict(list)
    for hole in holes:
        if hole.found and hole.mark_id is not None:
            found[hole.mark_id].append(hole)
    coordinates, owner = shapely.get_coordinates([mark.shape for mark in marks], return_index=True)
    painted_m = frame.to_ground(coordinates[:, 0], coordinates[:, 1]) if len(marks) else np.empty((0, 2))
    ends = np.searchsorted(owner, np.arange(len(marks)), side="right")
    pieces = np.split(painted_m, ends[:-1]) if len(marks) else []
    return [
        _plan_line(mark, points, found.get(mark.mark_id, []), job, frame)
        for mark, points in zip(marks, pieces, strict=True)
    ]


def _plan_line(
    mark: MapMark, painted_m: FloatArray, found: list[MapHole], job: MapJob, frame: GroundFrame
) -> PlanLine:
    size = line_size(
        measured=[(hole.outside_width_m, hole.outside_height_m) for hole in found],
        stated_width_m=mark.stated_width_m,
        stated_height_m=mark.stated_height_m,
        default_m=job.outside_m[mark.facility_type],
    )
    refs = tuple(hole.ref for hole in found)
    if not found or job.reach_m is None:
        return PlanLine(painted_m, painted_m, size, refs)
    places = shapely.get_coordinates([hole.shape for hole in found])
    holes = FoundHoles(
        frame.to_ground(places[:, 0], places[:, 1]),
        # Only the plan is drawn: heights of the tops are counted from the ground at each hole.
        np.array([-hole.depth_to_top_m for hole in found]),
        np.zeros(len(found)),
    )
    line = buried_line(painted_m, holes, size, job.reach_m)
    return PlanLine(painted_m, line.points_m[:, :2], size, refs)


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
    counts = np.array([len(line.points_m) for line in lines])
    coordinates = np.concatenate([line.points_m for line in lines])
    shapes = np.empty(len(lines), dtype=object)
    is_point = counts == 1
    of_points = np.repeat(is_point, counts)
    shapes[is_point] = shapely.points(coordinates[of_points])
    rows = np.repeat(np.arange(np.count_nonzero(~is_point)), counts[~is_point])
    shapes[~is_point] = shapely.linestrings(coordinates[~of_points], indices=rows)
    widths_m = tolerance_zone_m + np.array([line.size.plan_radius_m for line in lines])
    return np.asarray(shapely.buffer(shapes, widths_m, quad_segs=_quarter_pieces(float(widths_m.max()))))


def _quarter_pieces(radius_m: float) -> int:
    """Chords to a quarter circle that leave its arc by no more than `ROUNDING_M`."""
    if radius_m <= ROUNDING_M:
        return 1
    return int(np.ceil(0.25 * np.pi / np.arccos(1.0 - ROUNDING_M / radius_m)))
