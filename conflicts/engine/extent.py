"""Where along a bore a line lies within a given plan distance: the extents of its crossings, compiled."""

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray

# Extents that come nearer to each other than this along the bore are one.
JOINED_M = 1e-6


@nb.njit(cache=True, inline="always")
def _hull(low: float, high: float, new_low: float, new_high: float) -> tuple[float, float]:
    """The hull of two intervals of fractions clipped to [0, 1]; empty ones have low > high."""
    new_low, new_high = max(0.0, new_low), min(1.0, new_high)
    if new_low > new_high:
        return low, high
    return min(low, new_low), max(high, new_high)


@nb.njit(cache=True)
def _within_disc(
    ax: float, ay: float, dx: float, dy: float, cx: float, cy: float, radius: float
) -> tuple[float, float]:
    """Fractions of the ray a + t d inside the disc about c; empty as (1, 0)."""
    squared = dx * dx + dy * dy
    along = ((cx - ax) * dx + (cy - ay) * dy) / squared
    off_x, off_y = ax + along * dx - cx, ay + along * dy - cy
    inside = radius * radius - off_x * off_x - off_y * off_y
    if inside < 0.0:
        return 1.0, 0.0
    half = np.sqrt(inside / squared)
    return along - half, along + half


@nb.njit(cache=True)
def _within_strip(
    ax: float, ay: float, dx: float, dy: float, bx: float, by: float, ex: float, ey: float, radius: float
) -> tuple[float, float]:
    """Fractions of the ray a + t d inside the rectangle of half-width radius about segment b, b + e."""
    length = np.sqrt(ex * ex + ey * ey)
    if length == 0.0:
        return 1.0, 0.0
    ux, uy = ex / length, ey / length
    low, high = -np.inf, np.inf
    # Two slabs: along the segment from 0 to its length, and across it from -radius to radius.
    for start, rate, slab_low, slab_high in (
        ((ax - bx) * ux + (ay - by) * uy, dx * ux + dy * uy, 0.0, length),
        ((ay - by) * ux - (ax - bx) * uy, dy * ux - dx * uy, -radius, radius),
    ):
        if rate == 0.0:
            if start < slab_low or start > slab_high:
                return 1.0, 0.0
        else:
            first, second = (slab_low - start) / rate, (slab_high - start) / rate
            low, high = max(low, min(first, second)), min(high, max(first, second))
    return low, high


@nb.njit(cache=True)
def within_of_segment(
    a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, reach_m: float
) -> tuple[float, float]:
    """Fractions of segment a-b whose plan distance to segment c-d is at most the reach.

    The capsule round c-d is convex, so the fractions are one interval: the hull of those inside its two discs
    and its rectangle. A segment c-d of no length is a disc.

    Returns
    -------
    low, high : float
        Within [0, 1]; low > high where no point is within reach.
    """
    dx, dy = b[0] - a[0], b[1] - a[1]
    low, high = 2.0, -1.0
    first, second = _within_disc(a[0], a[1], dx, dy, c[0], c[1], reach_m)
    low, high = _hull(low, high, first, second)
    first, second = _within_disc(a[0], a[1], dx, dy, d[0], d[1], reach_m)
    low, high = _hull(low, high, first, second)
    first, second = _within_strip(a[0], a[1], dx, dy, c[0], c[1], d[0] - c[0], d[1] - c[1], reach_m)
    return _hull(low, high, first, second)


@nb.njit(cache=True)
def extents(stations: FloatArray, path: FloatArray, line: FloatArray, reaches_m: FloatArray) -> FloatArray:
    """Maximal station intervals of a path whose plan distance to a line is at most the reach there.

    Parameters
    ----------
    stations : (n,) float array
        Strictly increasing, metres.
    path : (n, 3) float array
        Points at the stations; only east and north are read.
    line : (m, 3) float array
        Vertices, one or more; only east and north are read.
    reaches_m : (n - 1,) float array
        Of each piece of the path: tolerance zone plus both radii, and more where the path is less sure.

    Returns
    -------
    (k, 2) float array
        First and last station of each, in order, no two nearer than `JOINED_M`.
    """
    lows = []
    highs = []
    last = max(1, len(line) - 1)
    for i in range(len(stations) - 1):
        a, b, reach_m = path[i], path[i + 1], reaches_m[i]
        low_x, high_x = min(a[0], b[0]) - reach_m, max(a[0], b[0]) + reach_m
        low_y, high_y = min(a[1], b[1]) - reach_m, max(a[1], b[1]) + reach_m
        step = stations[i + 1] - stations[i]
        for j in range(last):
            c, d = line[j], line[min(j + 1, len(line) - 1)]
            if (
                max(c[0], d[0]) < low_x
                or min(c[0], d[0]) > high_x
                or max(c[1], d[1]) < low_y
                or min(c[1], d[1]) > high_y
            ):
                continue
            low, high = within_of_segment(a, b, c, d, reach_m)
            if low <= high:
                lows.append(stations[i] + low * step)
                highs.append(stations[i] + high * step)
    return _united(np.array(lows), np.array(highs))


@nb.njit(cache=True)
def _united(lows: FloatArray, highs: FloatArray) -> FloatArray:
    """The union of intervals, in order."""
    order = np.argsort(lows)
    united = np.empty((len(lows), 2))
    count = 0
    for index in order:
        if count > 0 and lows[index] <= united[count - 1, 1] + JOINED_M:
            united[count - 1, 1] = max(united[count - 1, 1], highs[index])
        else:
            united[count, 0], united[count, 1] = lows[index], highs[index]
            count += 1
    return united[:count]
