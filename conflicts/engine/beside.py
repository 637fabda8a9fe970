"""Places beside an alignment, by station and offset, and back."""

import numpy as np
from numpy.typing import ArrayLike

from conflicts.engine.errors import PathError
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.engine.line import project_on
from conflicts.engine.path import END_STATION_M, distinct_points


def points_beside(alignment_m: ArrayLike, stations_m: ArrayLike, offsets_m: ArrayLike) -> FloatArray:
    """Points at stations of an alignment, set off square to it.

    Parameters
    ----------
    alignment_m : (n, 2) array_like
        The alignment in plan, east and north.
    stations_m : (k,) array_like
        Distances along it from its first point; up to 1 cm past an end is its end.
    offsets_m : (k,) array_like
        Distances from it, positive to the right, facing its end.

    Returns
    -------
    (k, 2) float array
        East and north in metres.

    Raises
    ------
    PathError
        A station that is not on the alignment, or an alignment without length.

    Notes
    -----
    An offset at a bend is square to the straight that begins there, at the end to the last one.
    """
    alignment = distinct_points(alignment_m)
    if len(alignment) < 2:
        raise PathError("an alignment needs two points that differ")
    chainage = chainages_m(alignment)
    asked = np.atleast_1d(np.asarray(stations_m, dtype=float))
    if not ((asked >= -END_STATION_M) & (asked <= chainage[-1] + END_STATION_M)).all():
        raise PathError("a station lies before the alignment's entry or past its end")
    stations = np.clip(asked, 0.0, chainage[-1])
    segment = np.clip(np.searchsorted(chainage, stations, side="right") - 1, 0, len(alignment) - 2)
    ahead = np.diff(alignment, axis=0)[segment] / np.diff(chainage)[segment, None]
    right = np.column_stack([ahead[:, 1], -ahead[:, 0]])
    along: FloatArray = alignment[segment] + (stations - chainage[segment])[:, None] * ahead
    beside: FloatArray = along + np.asarray(offsets_m, dtype=float)[:, None] * right
    return beside


def beside_of(alignment_m: ArrayLike, point_m: ArrayLike) -> tuple[float, float]:
    """Station and offset of a point: those of the place of the alignment nearest to it.

    Parameters
    ----------
    alignment_m : (n, 2) array_like
        The alignment in plan, east and north.
    point_m : (2,) array_like

    Returns
    -------
    tuple of float
        Metres along it, and from it, positive to the right, facing its end. Past an end the offset is the
        distance from that end.

    Raises
    ------
    PathError
        An alignment without length.
    """
    alignment = distinct_points(alignment_m)
    if len(alignment) < 2:
        raise PathError("an alignment needs two points that differ")
    point = np.asarray(point_m, dtype=float)
    chainage = chainages_m(alignment)
    [station_m] = project_on(point[None], alignment)
    piece = int(np.clip(np.searchsorted(chainage, station_m, side="right") - 1, 0, len(alignment) - 2))
    ahead = np.diff(alignment, axis=0)[piece]
    at = np.array([np.interp(station_m, chainage, alignment[:, axis]) for axis in range(2)])
    away = point - at
    side = ahead[1] * away[0] - ahead[0] * away[1]
    return float(station_m), float(np.copysign(np.hypot(*away), side))
