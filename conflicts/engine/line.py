"""A line underground: its mark, moved and given a depth by the test holes that found it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from conflicts.engine.errors import LineError
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.engine.path import SAME_POINT_M, distinct_points


@dataclass(frozen=True)
class LineSize:
    """Outside size of a line.

    Attributes
    ----------
    width_m : float
        Outside width; the diameter of a round line.
    height_m : float
        Outside height; equal to the width for a round line.
    is_duct_bank : bool
        Has a height of its own.
    is_assumed : bool
        Neither measured nor stated: the default of its facility type.
    is_measured : bool
        The width is from a test hole.
    """

    width_m: float
    height_m: float
    is_duct_bank: bool
    is_assumed: bool
    is_measured: bool = False

    @property
    def plan_radius_m(self) -> float:
        """Half of the width."""
        return 0.5 * self.width_m

    @property
    def radius_m(self) -> float:
        """Radius in three dimensions: of a duct bank, that of the circle round its section."""
        return 0.5 * float(np.hypot(self.width_m, self.height_m)) if self.is_duct_bank else 0.5 * self.width_m


@dataclass(frozen=True, eq=False)
class FoundHoles:
    """The test holes that found one line.

    Attributes
    ----------
    positions_m : (h, 2) float array
        Measured positions, east and north.
    top_elevations_m : (h,) float array
        Top of the line at each hole.
    errors_m : (h,) float array
        Measuring error of each hole, for plan and height.
    """

    positions_m: FloatArray
    top_elevations_m: FloatArray
    errors_m: FloatArray

    def __len__(self) -> int:
        """Number of holes."""
        return len(self.errors_m)


@dataclass(frozen=True, eq=False)
class BuriedLine:
    """The centre line of a buried line as a polyline.

    Attributes
    ----------
    points_m : (n, 3) float array
        East, north, elevation of the centre; the elevation is NaN where no test hole found the line.
    along_m : (n,) float array
        Distance along the line in plan.
    size : LineSize
    hole_along_m, hole_errors_m : (h,) float array
        The found holes in order along the line.
    hole_order : (h,) int array
        Index into the holes given, for each of those.
    """

    points_m: FloatArray
    along_m: FloatArray
    size: LineSize
    hole_along_m: FloatArray
    hole_errors_m: FloatArray
    hole_order: np.ndarray

    @property
    def depth_is_known(self) -> bool:
        """Whether a test hole found the line: nothing else gives it a depth."""
        return len(self.hole_along_m) > 0


def line_size(
    *,
    measured: list[tuple[float | None, float | None]],
    stated_width_m: float | None,
    stated_height_m: float | None,
    default_m: float,
) -> LineSize:
    """Outside size of a line: the largest measured in its test holes, else as stated, else assumed.

    Parameters
    ----------
    measured : list of (width_m or None, height_m or None)
        What each found test hole measured.
    stated_width_m, stated_height_m : float or None
        As the mark states.
    default_m : float
        Size assumed for the facility type.
    """
    widths = [width for width, _ in measured if width is not None]
    heights = [height for _, height in measured if height is not None]
    if widths:
        width, is_assumed = max(widths), False
        height = max(heights) if heights else None
    elif stated_width_m is not None:
        width, is_assumed = stated_width_m, False
        height = max(heights) if heights else stated_height_m
    else:
        width, is_assumed = default_m, True
        height = max(heights) if heights else stated_height_m
    if height is None:
        return LineSize(width, width, is_duct_bank=False, is_assumed=is_assumed, is_measured=bool(widths))
    return LineSize(width, height, is_duct_bank=True, is_assumed=is_assumed, is_measured=bool(widths))


def project_on(points_m: ArrayLike, polyline_m: FloatArray) -> FloatArray:
    """Distance along a polyline in plan of the point of it nearest to each given point.

    Parameters
    ----------
    points_m : (h, 2) array_like
    polyline_m : (n, 2) float array
        One vertex or more, no two in a row the same.

    Returns
    -------
    (h,) float array
        Of several nearest points, the first.
    """
    points = np.asarray(points_m, dtype=float).reshape(-1, 2)
    if len(polyline_m) == 1:
        return np.zeros(len(points))
    start = polyline_m[:-1]
    step = np.diff(polyline_m, axis=0)
    squared = (step**2).sum(axis=1)
    fraction = np.clip(((points[:, None, :] - start) * step).sum(axis=2) / squared, 0.0, 1.0)
    nearest = start + fraction[:, :, None] * step
    distance = np.linalg.norm(points[:, None, :] - nearest, axis=2)
    piece = distance.argmin(axis=1)
    rows = np.arange(len(points))
    along: FloatArray = chainages_m(polyline_m)[piece] + fraction[rows, piece] * np.sqrt(squared[piece])
    return along


def buried_line(mark_m: ArrayLike, holes: FoundHoles, size: LineSize, reach_m: float) -> BuriedLine:
    """The line that a mark and its found test holes describe.

    Parameters
    ----------
    mark_m : (n, 2) array_like
        The painted polyline, east and north; repeated points are taken once; a single point has no extent.
    holes : FoundHoles
        The test holes that found it.
    size : LineSize
    reach_m : float
        Expose reach: how far before and after its hole the mark is replaced, along the mark.

    Returns
    -------
    BuriedLine

    Raises
    ------
    LineError
        No point, values that are not finite, a negative reach.

    Notes
    -----
    The stretch of the mark from one reach before a hole's projection to one after it becomes two straight
    pieces through the hole's position. Where the stretches of two holes would overlap the line goes straight
    from hole to hole. Stretches end with the mark. Tops are linear along the mark between the projections
    and held past the outermost. The line of a single painted point goes to its hole, or from hole to hole.
    """
    mark = np.asarray(mark_m, dtype=float)
    if mark.ndim != 2 or mark.shape[1] != 2 or len(mark) == 0 or not np.isfinite(mark).all():
        raise LineError("a mark is an array of east and north, one point or more, all finite")
    if not (reach_m >= 0.0 and np.isfinite(reach_m)):
        raise LineError(f"the expose reach is {reach_m}; it must be 0 m or more")
    mark = distinct_points(mark)
    half_height = 0.5 * size.height_m
    if len(holes) == 0:
        points = np.column_stack([mark, np.full(len(mark), np.nan)])
        empty = np.empty(0)
        return BuriedLine(points, chainages_m(mark), size, empty, empty, np.empty(0, dtype=int))
    for figures in (holes.positions_m, holes.top_elevations_m, holes.errors_m):
        if not np.isfinite(figures).all():
            raise LineError("a test hole's position, top or error is not a finite number")
    projected = project_on(holes.positions_m, mark)
    order = np.argsort(projected, kind="stable")
    vertices = _moved(mark, projected[order], holes.positions_m[order], reach_m)
    plan, at, hole = vertices[:, :2], vertices[:, 2], vertices[:, 3].astype(int)
    tops = np.interp(at, projected[order], holes.top_elevations_m[order])
    is_hole = hole >= 0
    # A hole's own vertex carries its own top, also where two holes project on the same point of the mark.
    tops[is_hole] = holes.top_elevations_m[order][hole[is_hole]]
    along = chainages_m(plan)
    return BuriedLine(
        points_m=np.column_stack([plan, tops - half_height]),
        along_m=along,
        size=size,
        hole_along_m=along[is_hole],
        hole_errors_m=holes.errors_m[order][hole[is_hole]],
        hole_order=order[hole[is_hole]],
    )


def _moved(mark: FloatArray, projected: FloatArray, positions: FloatArray, reach_m: float) -> FloatArray:
    """Vertices of the moved line: east, north, distance along the mark, index of the hole or -1."""
    chainage = chainages_m(mark)
    length = chainage[-1]
    rows: list[tuple[float, float, float, float]] = []

    def add_mark(low_m: float, high_m: float) -> None:
        inside = chainage[(chainage > low_m) & (chainage < high_m)]
        places = np.concatenate([[low_m], inside, [high_m]])
        east, north = (np.interp(places, chainage, mark[:, axis]) for axis in range(2))
        for place in zip(east.tolist(), north.tolist(), places.tolist(), strict=True):
            if not rows or rows[-1][3] >= 0 or place[2] > rows[-1][2]:
                rows.append((*place, -1.0))

    if length == 0.0:
        return np.array([(*positions[i], 0.0, float(i)) for i in range(len(positions))])
    for index, (at, position) in enumerate(zip(projected, positions, strict=True)):
        if index == 0:
            add_mark(0.0, max(0.0, at - reach_m))
        elif at - projected[index - 1] >= 2.0 * reach_m:
            add_mark(projected[index - 1] + reach_m, at - reach_m)
        rows.append((float(position[0]), float(position[1]), float(at), float(index)))
    add_mark(min(length, projected[-1] + reach_m), length)
    return _without_doubles(np.array(rows))


def _without_doubles(vertices: FloatArray) -> FloatArray:
    """The vertices less those of the mark on which a neighbouring hole lies."""
    keep = np.ones(len(vertices), dtype=bool)
    for index in np.flatnonzero(vertices[:, 3] >= 0):
        for beside in (index - 1, index + 1):
            if 0 <= beside < len(vertices) and vertices[beside, 3] < 0:
                apart = np.linalg.norm(vertices[beside, :2] - vertices[index, :2])
                keep[beside] = keep[beside] and apart > SAME_POINT_M
    return vertices[keep]
