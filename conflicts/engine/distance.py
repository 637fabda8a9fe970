"""Least distance between segments and polylines in three dimensions, compiled.

A segment pair's distance is the least of its four end-to-segment distances and, where the closest points of
the two carrying lines lie on both segments, of theirs. Each is measured between actual points of the
segments, so that a near-parallel pair is never reported farther apart than it is by more than a rounding.

Polylines are halved again and again; a half whose chord is too far off, by more than the half strays from
its chord, cannot hold the closest point and is left out unmeasured. What is left out is at most `SLACK_M`
nearer than what is reported.
"""

import numba as nb
import numpy as np
from numpy.typing import NDArray

from conflicts.engine.frame import FloatArray

IndexArray = NDArray[np.int64]
# Vertices, the first and the last index of one polyline in them, and the stray of each inner vertex's part.
Chain = tuple[FloatArray, int, int, FloatArray]
# Squared distance, and the segment and fraction along it on each polyline.
Closest = tuple[float, int, float, int, float]

# Many times the rounding of a distance between coordinates of some kilometres; far below any use of one.
SLACK_M = 1e-11
# Each halving adds one pair at most to those that wait: enough for any two polylines that fit in memory.
MOST_WAITING = 128


@nb.njit(cache=True, forceinline=True)
def point_on_segment(p: FloatArray, a: FloatArray, b: FloatArray) -> float:
    """Fraction along segment a-b of its point nearest to p; 0 for a segment of no length."""
    dx, dy, dz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    squared = dx * dx + dy * dy + dz * dz
    if squared == 0.0:
        return 0.0
    t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy + (p[2] - a[2]) * dz) / squared
    return float(min(1.0, max(0.0, t)))


@nb.njit(cache=True, forceinline=True)
def _squared(x: float, y: float, z: float) -> float:
    return x * x + y * y + z * z


@nb.njit(cache=True, error_model="numpy", fastmath={"contract"}, forceinline=True)
def segment_distance(
    p: FloatArray, i: int, i_next: int, q: FloatArray, j: int, j_next: int
) -> tuple[float, float, float]:
    """Least distance between the segments p[i]-p[i_next] and q[j]-q[j_next].

    Parameters
    ----------
    p, q : (n, 3) and (m, 3) float array
        Vertices, in metres of one frame.
    i, i_next, j, j_next : int
        Ends of the segments; equal ends are a point.

    Returns
    -------
    squared_m2, s, t : float
        Squared distance and the fractions along the two segments where it is met.
    """
    ux, uy, uz = p[i_next, 0] - p[i, 0], p[i_next, 1] - p[i, 1], p[i_next, 2] - p[i, 2]
    vx, vy, vz = q[j_next, 0] - q[j, 0], q[j_next, 1] - q[j, 1], q[j_next, 2] - q[j, 2]
    wx, wy, wz = q[j, 0] - p[i, 0], q[j, 1] - p[i, 1], q[j, 2] - p[i, 2]
    uu, vv = ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz
    uv, uw, vw = ux * vx + uy * vy + uz * vz, ux * wx + uy * wy + uz * wz, vx * wx + vy * wy + vz * wz
    per_u = 1.0 / uu if uu > 0.0 else 0.0
    per_v = 1.0 / vv if vv > 0.0 else 0.0
    # Each end in turn; written out, because a loop over the four costs a quarter of the speed.
    best_s, best_t = 0.0, min(1.0, max(0.0, -vw * per_v))
    best = _squared(wx + best_t * vx, wy + best_t * vy, wz + best_t * vz)
    t = min(1.0, max(0.0, (uv - vw) * per_v))
    squared = _squared(wx + t * vx - ux, wy + t * vy - uy, wz + t * vz - uz)
    if squared < best:
        best, best_s, best_t = squared, 1.0, t
    s = min(1.0, max(0.0, uw * per_u))
    squared = _squared(wx - s * ux, wy - s * uy, wz - s * uz)
    if squared < best:
        best, best_s, best_t = squared, s, 0.0
    s = min(1.0, max(0.0, (uw + uv) * per_u))
    squared = _squared(wx + vx - s * ux, wy + vy - s * uy, wz + vz - s * uz)
    if squared < best:
        best, best_s, best_t = squared, s, 1.0
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    normal = nx * nx + ny * ny + nz * nz
    s = (wy * vz - wz * vy) * nx + (wz * vx - wx * vz) * ny + (wx * vy - wy * vx) * nz
    t = (wy * uz - wz * uy) * nx + (wz * ux - wx * uz) * ny + (wx * uy - wy * ux) * nz
    if normal > 0.0 and 0.0 <= s <= normal and 0.0 <= t <= normal:
        s, t = s / normal, t / normal
        squared = _squared(wx + t * vx - s * ux, wy + t * vy - s * uy, wz + t * vz - s * uz)
        if squared < best:
            best, best_s, best_t = squared, s, t
    return best, best_s, best_t


@nb.njit(cache=True, forceinline=True)
def _span(low: int, span: int, last: int) -> int:
    """The span of the part from vertex low: halved until its middle lies before the last vertex, or 1."""
    while span > 1 and low + (span >> 1) >= last:
        span >>= 1
    return span


@nb.njit(cache=True, forceinline=True)
def _stray(strays: FloatArray, low: int, span: int) -> float:
    """How far at most the part from vertex low strays from its chord; a segment does not."""
    return float(strays[low + (span >> 1)]) if span > 1 else 0.0


@nb.njit(cache=True, error_model="numpy", forceinline=True)
def _squared_to_segment(p: FloatArray, k: int, i: int, j: int) -> float:
    """Squared distance of vertex k from the segment between vertices i and j."""
    ux, uy, uz = p[j, 0] - p[i, 0], p[j, 1] - p[i, 1], p[j, 2] - p[i, 2]
    wx, wy, wz = p[k, 0] - p[i, 0], p[k, 1] - p[i, 1], p[k, 2] - p[i, 2]
    uu = ux * ux + uy * uy + uz * uz
    s = min(1.0, max(0.0, (ux * wx + uy * wy + uz * wz) / uu)) if uu > 0.0 else 0.0
    return _squared(wx - s * ux, wy - s * uy, wz - s * uz)


@nb.njit(cache=True, error_model="numpy")
def measure_strays(points: FloatArray, first: int, last: int, strays: FloatArray) -> None:
    """Fill in, at each inner vertex, the stray of the part of which that vertex is the middle.

    Parts have 2, 4, 8 ... segments counted from the first vertex, so each inner vertex is the middle of one.
    A part strays from its chord by at most the distance of its middle from the chord and the greater stray of
    its halves: along each half's chord the distance to the whole's is a convex function.
    """
    span = 2
    while span >> 1 < last - first:
        half = span >> 1
        for low in range(first, last - half, span):
            middle, high = low + half, min(last, low + span)
            squared = _squared_to_segment(points, middle, low, high)
            right = _stray(strays, middle, _span(middle, half, last))
            strays[middle] = np.sqrt(squared) + max(_stray(strays, low, half), right)
        span *= 2


@nb.njit(cache=True, error_model="numpy")
def _closest(a: Chain, b: Chain, waiting: IndexArray, chords: FloatArray) -> Closest:
    """Closest pair of two polylines; waiting and chords are room to work in."""
    p, p_first, p_last, p_strays = a
    q, q_first, q_last, q_strays = b
    p_span, q_span = 1, 1
    while p_span < p_last - p_first:
        p_span *= 2
    while q_span < q_last - q_first:
        q_span *= 2
    found = (np.inf, p_first, 0.0, q_first, 0.0)
    found_m = np.inf
    waiting[0, 0], waiting[0, 1], waiting[0, 2], waiting[0, 3] = p_first, p_span, q_first, q_span
    chords[0] = 0.0
    count = 1
    while count > 0:
        count -= 1
        i, m, j, n = waiting[count, 0], waiting[count, 1], waiting[count, 2], waiting[count, 3]
        p_stray, q_stray = _stray(p_strays, i, m), _stray(q_strays, j, n)
        reach_m = found_m + p_stray + q_stray - SLACK_M
        if reach_m <= 0.0 or chords[count] >= reach_m * reach_m:
            continue
        if m == 1 and n == 1:
            squared, s, t = segment_distance(p, i, min(i + 1, p_last), q, j, min(j + 1, q_last))
            if squared < found[0]:
                found, found_m = (squared, i, s, j, t), np.sqrt(squared)
            continue
        if m > 1 and (n == 1 or p_stray >= q_stray):
            half, j_next = m >> 1, min(j + n, q_last)
            chord, _, _ = segment_distance(p, i, i + half, q, j, j_next)
            other, _, _ = segment_distance(p, i + half, min(i + m, p_last), q, j, j_next)
            near, far = (i, half, j, n), (i + half, _span(i + half, half, p_last), j, n)
        else:
            half, i_next = n >> 1, min(i + m, p_last)
            chord, _, _ = segment_distance(p, i, i_next, q, j, j + half)
            other, _, _ = segment_distance(p, i, i_next, q, j + half, min(j + n, q_last))
            near, far = (i, m, j, half), (i, m, j + half, _span(j + half, half, q_last))
        # The nearer half is looked at first: what it finds rules out most of the rest.
        if other < chord:
            near, far, chord, other = far, near, other, chord
        waiting[count, 0], waiting[count, 1], waiting[count, 2], waiting[count, 3] = far
        waiting[count + 1, 0], waiting[count + 1, 1], waiting[count + 1, 2], waiting[count + 1, 3] = near
        chords[count], chords[count + 1] = other, chord
        count += 2
    return found


@nb.njit(cache=True)
def closest_between(a: FloatArray, b: FloatArray) -> Closest:
    """Closest points of two polylines.

    Parameters
    ----------
    a, b : (n, 3) and (m, 3) float array
        Vertices, one or more each, all finite.

    Returns
    -------
    squared_m2, a_segment, s, b_segment, t
        Squared distance; the segment of each polyline and the fraction along it where it is met.
    """
    a_strays, b_strays = np.zeros(len(a)), np.zeros(len(b))
    measure_strays(a, 0, len(a) - 1, a_strays)
    measure_strays(b, 0, len(b) - 1, b_strays)
    waiting, chords = np.empty((MOST_WAITING, 4), np.int64), np.empty(MOST_WAITING)
    return _closest((a, 0, len(a) - 1, a_strays), (b, 0, len(b) - 1, b_strays), waiting, chords)


@nb.njit(cache=True)
def _measured(points: FloatArray, starts: IndexArray) -> tuple[FloatArray, NDArray[np.bool_]]:
    """The strays of many polylines, one after the other, and whether each is finite throughout."""
    strays = np.zeros(len(points))
    is_finite = np.empty(len(starts) - 1, np.bool_)
    for index in range(len(starts) - 1):
        first, last = starts[index], starts[index + 1] - 1
        total = 0.0
        for vertex in range(first, last + 1):
            total += points[vertex, 0] + points[vertex, 1] + points[vertex, 2]
        # A sum is finite only where every part of it is.
        is_finite[index] = np.isfinite(total)
        if is_finite[index]:
            measure_strays(points, first, last, strays)
    return strays, is_finite


@nb.njit(cache=True)
def _distances(
    a: FloatArray, a_starts: IndexArray, b: FloatArray, b_starts: IndexArray, pairs: IndexArray
) -> FloatArray:
    a_strays, a_is_finite = _measured(a, a_starts)
    b_strays, b_is_finite = _measured(b, b_starts)
    waiting, chords = np.empty((MOST_WAITING, 4), np.int64), np.empty(MOST_WAITING)
    distances = np.full(len(pairs), np.nan)
    for pair in range(len(pairs)):
        i, j = pairs[pair, 0], pairs[pair, 1]
        if a_is_finite[i] and b_is_finite[j]:
            found = _closest(
                (a, a_starts[i], a_starts[i + 1] - 1, a_strays),
                (b, b_starts[j], b_starts[j + 1] - 1, b_strays),
                waiting,
                chords,
            )
            distances[pair] = np.sqrt(found[0])
    return distances


def polyline_distances_m(first: list[FloatArray], second: list[FloatArray], pairs: IndexArray) -> FloatArray:
    """Least distance in three dimensions of many pairs of polylines.

    Parameters
    ----------
    first, second : list of (n, 3) float array
        Polylines of one frame, metres, each of one vertex or more.
    pairs : (p, 2) int array
        Index into first and into second.

    Returns
    -------
    (p,) float array
        Distances in metres; NaN where either polyline has a coordinate that is not finite.
    """
    a, a_starts = _flattened(first)
    b, b_starts = _flattened(second)
    pairs = np.ascontiguousarray(pairs, dtype=np.int64).reshape(-1, 2)
    distances: FloatArray = _distances(a, a_starts, b, b_starts, pairs)
    return distances


def _flattened(polylines: list[FloatArray]) -> tuple[FloatArray, IndexArray]:
    sizes = np.array([0, *map(len, polylines)], dtype=np.int64)
    points = np.concatenate(polylines) if polylines else np.empty((0, 3))
    return np.ascontiguousarray(points, dtype=float), np.cumsum(sizes)
