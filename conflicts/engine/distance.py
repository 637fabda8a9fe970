"""Least distance between segments and polylines in three dimensions, compiled.

A segment pair's distance is the least of its four end-to-segment distances and, where the closest points of
the two carrying lines lie on both segments, of theirs. Each is measured between actual points of the
segments, so a near-parallel pair is not reported farther apart than it is by more than the rounding of one end.
"""

import numba as nb
import numpy as np
from numpy.typing import NDArray

from conflicts.engine.frame import FloatArray

IndexArray = NDArray[np.int64]
# First segment, one past the last, and the last vertex, of a chunk.
Range = tuple[int, int, int]
# Squared distance, and the segment and fraction along it on each polyline.
Closest = tuple[float, int, float, int, float]

# Segments whose boxes are compared together before any of them is measured.
CHUNK = 8


@nb.njit(cache=True, inline="always")
def point_on_segment(p: FloatArray, a: FloatArray, b: FloatArray) -> float:
    """Fraction along segment a-b of its point nearest to p; 0 for a segment of no length."""
    dx, dy, dz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    squared = dx * dx + dy * dy + dz * dz
    if squared == 0.0:
        return 0.0
    t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy + (p[2] - a[2]) * dz) / squared
    return float(min(1.0, max(0.0, t)))


@nb.njit(cache=True, inline="always")
def _squared_between(a: FloatArray, b: FloatArray, s: float, c: FloatArray, d: FloatArray, t: float) -> float:
    """Squared distance from the point at s on a-b to the point at t on c-d."""
    x = a[0] + s * (b[0] - a[0]) - c[0] - t * (d[0] - c[0])
    y = a[1] + s * (b[1] - a[1]) - c[1] - t * (d[1] - c[1])
    z = a[2] + s * (b[2] - a[2]) - c[2] - t * (d[2] - c[2])
    return float(x * x + y * y + z * z)


@nb.njit(cache=True)
def segment_distance(
    a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray
) -> tuple[float, float, float]:
    """Least distance between segments a-b and c-d.

    Parameters
    ----------
    a, b, c, d : (3,) float array
        Ends, in metres of one frame.

    Returns
    -------
    squared_m2, s, t : float
        Squared distance and the fractions along a-b and c-d where it is met.
    """
    t = point_on_segment(a, c, d)
    best, best_s, best_t = _squared_between(a, b, 0.0, c, d, t), 0.0, t
    t = point_on_segment(b, c, d)
    squared = _squared_between(a, b, 1.0, c, d, t)
    if squared < best:
        best, best_s, best_t = squared, 1.0, t
    s = point_on_segment(c, a, b)
    squared = _squared_between(a, b, s, c, d, 0.0)
    if squared < best:
        best, best_s, best_t = squared, s, 0.0
    s = point_on_segment(d, a, b)
    squared = _squared_between(a, b, s, c, d, 1.0)
    if squared < best:
        best, best_s, best_t = squared, s, 1.0
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, vz = d[0] - c[0], d[1] - c[1], d[2] - c[2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    normal = nx * nx + ny * ny + nz * nz
    if normal > 0.0:
        wx, wy, wz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
        s = ((wy * vz - wz * vy) * nx + (wz * vx - wx * vz) * ny + (wx * vy - wy * vx) * nz) / normal
        t = ((wy * uz - wz * uy) * nx + (wz * ux - wx * uz) * ny + (wx * uy - wy * ux) * nz) / normal
        if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0:
            squared = _squared_between(a, b, s, c, d, t)
            if squared < best:
                best, best_s, best_t = squared, s, t
    return best, best_s, best_t


@nb.njit(cache=True)
def chunk_boxes(points: FloatArray, start: int, stop: int) -> FloatArray:
    """Boxes round each `CHUNK` segments of the polyline points[start:stop], as a (k, 6) array."""
    segments = max(1, stop - start - 1)
    count = (segments + CHUNK - 1) // CHUNK
    boxes = np.empty((count, 6))
    for chunk in range(count):
        first = start + chunk * CHUNK
        last = min(stop - 1, first + CHUNK)
        for axis in range(3):
            low = high = points[first, axis]
            for index in range(first + 1, last + 1):
                low = min(low, points[index, axis])
                high = max(high, points[index, axis])
            boxes[chunk, axis] = low
            boxes[chunk, axis + 3] = high
    return boxes


@nb.njit(cache=True, inline="always")
def _squared_between_boxes(first: FloatArray, second: FloatArray) -> float:
    """Squared distance between two boxes of three lows and three highs."""
    squared = 0.0
    for axis in range(3):
        gap = max(first[axis] - second[axis + 3], second[axis] - first[axis + 3])
        if gap > 0.0:
            squared += gap * gap
    return squared


@nb.njit(cache=True)
def _chunk_against_chunk(
    a: FloatArray, a_range: Range, b: FloatArray, b_range: Range, found: Closest
) -> Closest:
    """Lower found = (squared, segment of a, s, segment of b, t) by the segment pairs of two chunks."""
    squared, a_at, s_at, b_at, t_at = found
    for i in range(a_range[0], a_range[1]):
        i_next = min(i + 1, a_range[2])
        for j in range(b_range[0], b_range[1]):
            j_next = min(j + 1, b_range[2])
            apart = 0.0
            for axis in range(3):
                a_low, a_high = min(a[i, axis], a[i_next, axis]), max(a[i, axis], a[i_next, axis])
                b_low, b_high = min(b[j, axis], b[j_next, axis]), max(b[j, axis], b[j_next, axis])
                gap = max(a_low - b_high, b_low - a_high)
                if gap > 0.0:
                    apart += gap * gap
            if apart < squared:
                measured, s, t = segment_distance(a[i], a[i_next], b[j], b[j_next])
                if measured < squared:
                    squared, a_at, s_at, b_at, t_at = measured, i, s, j, t
    return squared, a_at, s_at, b_at, t_at


@nb.njit(cache=True)
def _between_boxed(
    a: FloatArray,
    a_start: int,
    a_stop: int,
    a_boxes: FloatArray,
    b: FloatArray,
    b_start: int,
    b_stop: int,
    b_boxes: FloatArray,
) -> Closest:
    """Closest pair of two polylines whose chunk boxes are made."""
    found = (np.inf, a_start, 0.0, b_start, 0.0)
    # The nearest pair of boxes first: what it finds rules out most of the others unmeasured.
    near, near_i, near_j = np.inf, 0, 0
    for i in range(len(a_boxes)):
        for j in range(len(b_boxes)):
            apart = _squared_between_boxes(a_boxes[i], b_boxes[j])
            if apart < near:
                near, near_i, near_j = apart, i, j
    for turn in range(-1, len(a_boxes) * len(b_boxes)):
        i, j = (near_i, near_j) if turn < 0 else (turn // len(b_boxes), turn % len(b_boxes))
        if turn >= 0 and (
            (i == near_i and j == near_j) or _squared_between_boxes(a_boxes[i], b_boxes[j]) >= found[0]
        ):
            continue
        a_first, b_first = a_start + i * CHUNK, b_start + j * CHUNK
        a_range = (a_first, min(max(a_stop - 1, a_start + 1), a_first + CHUNK), a_stop - 1)
        b_range = (b_first, min(max(b_stop - 1, b_start + 1), b_first + CHUNK), b_stop - 1)
        found = _chunk_against_chunk(a, a_range, b, b_range, found)
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
    return _between_boxed(a, 0, len(a), chunk_boxes(a, 0, len(a)), b, 0, len(b), chunk_boxes(b, 0, len(b)))


@nb.njit(cache=True)
def _all_boxes(points: FloatArray, starts: IndexArray) -> tuple[FloatArray, IndexArray]:
    """Chunk boxes of many polylines, one after the other, and where each polyline's begin."""
    box_starts = np.zeros(len(starts), np.int64)
    for index in range(len(starts) - 1):
        segments = max(1, starts[index + 1] - starts[index] - 1)
        box_starts[index + 1] = box_starts[index] + (segments + CHUNK - 1) // CHUNK
    boxes = np.empty((box_starts[-1], 6))
    for index in range(len(starts) - 1):
        boxes[box_starts[index] : box_starts[index + 1]] = chunk_boxes(
            points, starts[index], starts[index + 1]
        )
    return boxes, box_starts


@nb.njit(cache=True)
def _distances(
    a: FloatArray,
    a_starts: IndexArray,
    b: FloatArray,
    b_starts: IndexArray,
    a_index: IndexArray,
    b_index: IndexArray,
) -> FloatArray:
    a_boxes, a_box_starts = _all_boxes(a, a_starts)
    b_boxes, b_box_starts = _all_boxes(b, b_starts)
    distances = np.empty(len(a_index))
    for pair in range(len(a_index)):
        i, j = a_index[pair], b_index[pair]
        found = _between_boxed(
            a, a_starts[i], a_starts[i + 1], a_boxes[a_box_starts[i] : a_box_starts[i + 1]],
            b, b_starts[j], b_starts[j + 1], b_boxes[b_box_starts[j] : b_box_starts[j + 1]],
        )  # fmt: skip
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
    pairs = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
    distances = _distances(a, a_starts, b, b_starts, pairs[:, 0].copy(), pairs[:, 1].copy())
    unknown_a = np.array([not np.isfinite(one).all() for one in first])
    unknown_b = np.array([not np.isfinite(one).all() for one in second])
    return np.where(unknown_a[pairs[:, 0]] | unknown_b[pairs[:, 1]], np.nan, distances)


def _flattened(polylines: list[FloatArray]) -> tuple[FloatArray, IndexArray]:
    sizes = np.array([0, *(len(one) for one in polylines)], dtype=np.int64)
    points = np.concatenate(polylines) if polylines else np.empty((0, 3))
    return np.ascontiguousarray(points, dtype=float), np.cumsum(sizes)
