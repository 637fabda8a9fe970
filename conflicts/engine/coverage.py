"""Which stations of a bore lie in no work area, and which pits lie outside."""

import numpy as np
import shapely
from numpy.typing import ArrayLike

from conflicts.engine.frame import FloatArray, chainages_m

# Gaps shorter than this are the rounding of two edges that meet, not uncovered ground.
LEAST_GAP_M = 1e-3


def united_area(polygons: list[shapely.Geometry]) -> shapely.Geometry:
    """The union of work areas in the ground frame; empty where there are none."""
    return shapely.union_all(polygons) if polygons else shapely.Polygon()


def uncovered_stations(plan_m: ArrayLike, area: shapely.Geometry) -> list[tuple[float, float]]:
    """Station ranges of a bore's plan that lie outside an area.

    Parameters
    ----------
    plan_m : (n, 2) array_like
        The bore in plan, east and north, no two points in a row the same.
    area : shapely geometry
        United work areas, from `united_area`.

    Returns
    -------
    list of (from_m, to_m)
        In order along the bore; ranges shorter than `LEAST_GAP_M` are left out.
    """
    plan = np.asarray(plan_m, dtype=float)
    chainage = chainages_m(plan)
    # Grown by half of the least gap, so that two areas that share an edge leave none between them.
    grown = shapely.buffer(area, 0.5 * LEAST_GAP_M)
    segments = shapely.linestrings(np.stack([plan[:-1], plan[1:]], axis=1))
    outside = np.asarray(shapely.difference(segments, grown))
    ranges: list[tuple[float, float]] = []
    for index in np.flatnonzero(~shapely.is_empty(outside)):
        for low, high in _distances_along(outside[index], plan[index]):
            low, high = float(chainage[index] + low), float(chainage[index] + high)
            if ranges and low - ranges[-1][1] <= LEAST_GAP_M:
                ranges[-1] = (ranges[-1][0], high)
            else:
                ranges.append((low, high))
    return [(low, high) for low, high in ranges if high - low > LEAST_GAP_M]


def covered_stations(plan_m: ArrayLike, area: shapely.Geometry) -> list[tuple[float, float]]:
    """Station ranges of a bore's plan that lie in an area: what `uncovered_stations` leaves.

    Parameters and return value are those of `uncovered_stations`.
    """
    length_m = float(chainages_m(np.asarray(plan_m, dtype=float))[-1])
    return without_ranges(length_m, uncovered_stations(plan_m, area))


def without_ranges(length_m: float, gaps_m: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """What is left of the stations from 0 to a length without some ranges, which come in order.

    Parameters
    ----------
    length_m : float
        Of the bore in plan.
    gaps_m : list of (from_m, to_m)
        In order, apart from each other.

    Returns
    -------
    list of (from_m, to_m)
        In order; ranges shorter than `LEAST_GAP_M` are left out.
    """
    starts = [0.0, *(high for _, high in gaps_m)]
    ends = [*(low for low, _ in gaps_m), length_m]
    return [(low, high) for low, high in zip(starts, ends, strict=True) if high - low > LEAST_GAP_M]


def _distances_along(outside: shapely.Geometry, start: FloatArray) -> list[tuple[float, float]]:
    """First and last distance from the start of a straight segment of each of its pieces, in order."""
    ranges = []
    for piece in shapely.get_parts(outside):
        ends = np.linalg.norm(shapely.get_coordinates(piece) - start, axis=1)
        ranges.append((float(ends.min()), float(ends.max())))
    return sorted(ranges)


def is_covered(polygon: shapely.Geometry, area: shapely.Geometry) -> bool:
    """Whether a pit lies in an area, but for `LEAST_GAP_M` along its edge."""
    return bool(shapely.covers(shapely.buffer(area, LEAST_GAP_M), polygon))
