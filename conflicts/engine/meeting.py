"""Where in plan a bore and a line meet or come closest within one extent, compiled."""

import numba as nb
import numpy as np

from conflicts.engine.distance import point_on_segment
from conflicts.engine.frame import FloatArray

# Centre lines that come this near count as meeting: a line that ends on the bore meets it whichever way the
# last digit was rounded.
MEETS_M = 1e-7
# Segments whose directions differ by less than this (sine) do not cross at a point.
PARALLEL_SINE = 1e-9
# Plan distances within this of the least are equally least.
TIE_M = 1e-6


@nb.njit(cache=True)
def _crossing_fractions(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> tuple[float, float]:
    """Fractions along a-b and c-d of their meeting in plan; (-1, -1) where they do not meet at a point."""
    ux, uy = b[0] - a[0], b[1] - a[1]
    vx, vy = d[0] - c[0], d[1] - c[1]
    u, v = np.sqrt(ux * ux + uy * uy), np.sqrt(vx * vx + vy * vy)
    cross = ux * vy - uy * vx
    if u == 0.0 or v == 0.0 or abs(cross) <= PARALLEL_SINE * u * v:
        return -1.0, -1.0
    wx, wy = c[0] - a[0], c[1] - a[1]
    s, t = (wx * vy - wy * vx) / cross, (wx * uy - wy * ux) / cross
    if -MEETS_M <= s * u <= u + MEETS_M and -MEETS_M <= t * v <= v + MEETS_M:
        return min(1.0, max(0.0, s)), min(1.0, max(0.0, t))
    return -1.0, -1.0


@nb.njit(cache=True)
def clipped(
    stations: FloatArray, path: FloatArray, low_m: float, high_m: float
) -> tuple[FloatArray, FloatArray]:
    """The stretch of a path from one station to another: its stations and points, ends included."""
    first = int(np.searchsorted(stations, low_m, side="right"))
    last = int(np.searchsorted(stations, high_m, side="left"))
    count = max(0, last - first) + 2
    cut_stations = np.empty(count)
    cut = np.empty((count, 3))
    cut_stations[0], cut_stations[-1] = low_m, high_m
    for index in range(count - 2):
        cut_stations[index + 1] = stations[first + index]
        cut[index + 1] = path[first + index]
    for axis in range(3):
        cut[0, axis] = np.interp(low_m, stations, path[:, axis])
        cut[-1, axis] = np.interp(high_m, stations, path[:, axis])
    return cut_stations, cut


@nb.njit(cache=True)
def nearest_on_line(point: FloatArray, line: FloatArray) -> tuple[int, float, float]:
    """Segment, fraction and squared distance of the point of a line nearest to a point."""
    best, best_j, best_t = np.inf, 0, 0.0
    for j in range(max(1, len(line) - 1)):
        c, d = line[j], line[min(j + 1, len(line) - 1)]
        t = point_on_segment(point, c, d)
        squared = 0.0
        for axis in range(3):
            gap = c[axis] + t * (d[axis] - c[axis]) - point[axis]
            squared += gap * gap
        if squared < best:
            best, best_j, best_t = squared, j, t
    return best_j, best_t, best


@nb.njit(cache=True)
def _candidates(
    cut: FloatArray, line_plan: FloatArray
) -> list[tuple[float, float, float, float, float, float]]:
    """Pairs that may be closest in plan: (crosses, distance, i, s, j, t) a row.

    In a plane two segments that do not cross are closest at an end of one of them.
    """
    rows = []
    flat_a, flat_b = np.zeros(3), np.zeros(3)
    for i in range(max(1, len(cut) - 1)):
        i_next = min(i + 1, len(cut) - 1)
        flat_a[:2], flat_b[:2] = cut[i, :2], cut[i_next, :2]
        for j in range(max(1, len(line_plan) - 1)):
            c, d = line_plan[j], line_plan[min(j + 1, len(line_plan) - 1)]
            s, t = _crossing_fractions(flat_a, flat_b, c, d)
            if s >= 0.0:
                rows.append((1.0, 0.0, float(i), s, float(j), t))
                continue
            for s, t in (
                (0.0, point_on_segment(flat_a, c, d)),
                (1.0, point_on_segment(flat_b, c, d)),
                (point_on_segment(c, flat_a, flat_b), 0.0),
                (point_on_segment(d, flat_a, flat_b), 1.0),
            ):
                x = flat_a[0] + s * (flat_b[0] - flat_a[0]) - c[0] - t * (d[0] - c[0])
                y = flat_a[1] + s * (flat_b[1] - flat_a[1]) - c[1] - t * (d[1] - c[1])
                rows.append((0.0, np.sqrt(x * x + y * y), float(i), s, float(j), t))
    return rows


@nb.njit(cache=True)
def plan_meeting(
    stations: FloatArray, path: FloatArray, line: FloatArray, low_m: float, high_m: float
) -> tuple[bool, float, float, int, int, float]:
    """The point of a crossing: where the centre lines meet in plan, else where they are closest.

    Parameters
    ----------
    stations, path : (n,) and (n, 3) float arrays
        The bore.
    line : (m, 3) float array
        The line's centre; elevations NaN where unknown.
    low_m, high_m : float
        First and last station of the extent.

    Returns
    -------
    crosses : bool
        Whether the centre lines meet in plan.
    distance_m, station_m : float
        Least plan distance, and the station of it. Of several equally least, the one with the least height
        difference; where that is unknown or equal too, the one in the middle of them.
    bore_segment, line_segment : int
        Index of the segments that meet there; the bore's in `path`.
    fraction : float
        Along the line's segment.
    """
    line_plan = line.copy()
    line_plan[:, 2] = 0.0
    cut_stations, cut = clipped(stations, path, low_m, high_m)
    rows = _candidates(cut, line_plan)
    crosses, least = False, np.inf
    for row in rows:
        crosses = crosses or row[0] == 1.0
        least = min(least, row[1])
    first, last = np.inf, -np.inf
    tied = []
    for row in rows:
        if (row[0] == 1.0) if crosses else (row[1] <= least + TIE_M):
            i = int(row[2])
            i_next = min(i + 1, len(cut) - 1)
            station = cut_stations[i] + row[3] * (cut_stations[i_next] - cut_stations[i])
            first, last = min(first, station), max(last, station)
            tied.append((station, row[4], row[5]))
    middle = 0.5 * (first + last)
    if not crosses and last > first:
        point = np.zeros(3)
        point[0] = np.interp(middle, cut_stations, cut[:, 0])
        point[1] = np.interp(middle, cut_stations, cut[:, 1])
        j, t, squared = nearest_on_line(point, line_plan)
        if np.sqrt(squared) <= least + TIE_M:
            tied.append((middle, float(j), t))
    best_height, best_off = np.inf, np.inf
    station, line_segment, fraction = tied[0]
    for tie in tied:
        j = int(tie[1])
        j_next = min(j + 1, len(line) - 1)
        height = abs(
            np.interp(tie[0], cut_stations, cut[:, 2]) - line[j, 2] - tie[2] * (line[j_next, 2] - line[j, 2])
        )
        if np.isnan(height):
            height = 0.0
        off = abs(tie[0] - middle)
        if height < best_height - TIE_M or (height <= best_height + TIE_M and off < best_off):
            best_height, best_off = height, off
            station, line_segment, fraction = tie
    bore_segment = min(max(np.searchsorted(stations, station, side="right") - 1, 0), len(stations) - 2)
    return crosses, least, station, bore_segment, int(line_segment), fraction
