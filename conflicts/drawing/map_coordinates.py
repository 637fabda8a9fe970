"""Coordinates of the map's document: whole hundred-millionths of a degree, each point as the step to it.

A hundred-millionth of a degree of latitude is 1.1 mm on the ground and one of longitude is less, so that
rounding moves a point by 0.8 mm at most: the millimetre to which the records are surveyed, and no more. The
steps are between rounded points, so that they add up without drift; they are short to write and pack well.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from conflicts.engine.frame import FloatArray, GroundFrame

UNIT_DEG = 1e-8
TURN = round(360.0 / UNIT_DEG)

Steps = list[int]


class MapGrid:
    """The whole-number grid of one map, about an origin in its middle.

    Parameters
    ----------
    frame : GroundFrame
        Whose centre is the origin, and in whose metres shapes may be given.
    """

    def __init__(self, frame: GroundFrame) -> None:
        self.frame = frame
        self.origin = [round(frame.longitude_deg / UNIT_DEG), round(frame.latitude_deg / UNIT_DEG)]

    def lines(self, shapes: Sequence[shapely.Geometry] | NDArray[np.object_]) -> list[Steps]:
        """Points and lines in degrees, one list of steps each."""
        coordinates, owner = shapely.get_coordinates(shapes, return_index=True)
        return self._steps(coordinates, _counts(owner, len(shapes)))

    def polygons(self, shapes: Sequence[shapely.Geometry]) -> list[list[Steps]]:
        """Polygons and multipolygons in degrees, each as the list of its rings."""
        parts, of_shape = shapely.get_parts(shapes, return_index=True)
        rings, of_part = shapely.get_rings(parts, return_index=True)
        steps = self.lines(rings)
        ends = np.cumsum(_counts(of_shape[of_part], len(shapes)))
        starts = [0, *ends.tolist()]
        return [steps[start:end] for start, end in pairwise(starts)]

    def ground_lines(self, lines_m: Sequence[FloatArray]) -> list[Steps]:
        """Lines in metres of the frame, one list of steps each."""
        if not lines_m:
            return []
        return self._steps(
            self.frame.to_geographic(np.concatenate(lines_m)), np.array([len(one) for one in lines_m])
        )

    def ground_polygons(self, shapes: NDArray[np.object_]) -> list[list[Steps]]:
        """Polygons in metres of the frame, each as the list of its rings."""
        return self.polygons(list(shapely.transform(shapes, self.frame.to_geographic)))

    def _steps(self, lon_lat_deg: FloatArray, counts: NDArray[np.int64]) -> list[Steps]:
        if len(lon_lat_deg) == 0:
            return [[] for _ in counts]
        points = np.rint(lon_lat_deg / UNIT_DEG).astype(np.int64) - np.array(self.origin)
        # The short way round, where a job lies across the 180th meridian.
        points[:, 0] = (points[:, 0] + TURN // 2) % TURN - TURN // 2
        ends = np.cumsum(counts)
        starts = ends - counts
        first = starts[counts > 0]
        steps = np.diff(points, axis=0, prepend=0)
        steps[first] = points[first]
        flat = steps.ravel().tolist()
        return [flat[2 * start : 2 * end] for start, end in zip(starts.tolist(), ends.tolist(), strict=True)]


def _counts(owner: NDArray[np.int64], owners: int) -> NDArray[np.int64]:
    """How many coordinates or rings belong to each geometry."""
    return np.bincount(owner, minlength=owners)
