"""What is left of a separation when every position is as wrong as stated, compiled.

For a bore point p and the line's point q nearest to it, v = q - p, the error that counts is its share along
v: (E_h |v_h| + E_v |v_z|) / |v|. For straight lines that is the exact loss of distance under shifts of up to
E_h in plan and E_v in height.
"""

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.meeting import nearest_on_line

# Longest step of station between two samples, as the design asks.
SAMPLE_M = 0.05
# Samples that are least among their neighbours and within this of the least of all are searched between
# samples: for centre distances of 15 cm and more a sampled least is off by less than 0.05^2 / (8 * 0.15) m.
SEARCHED_M = 0.005
# The search between samples ends at this width of station.
FOUND_M = 1e-6
GOLDEN_RATIO = 0.6180339887498949

# Distances along the line of its found test holes, and their errors.
Holes = tuple[FloatArray, FloatArray]
# Bore radius plus line radius, the bore's horizontal and vertical error, expose reach, horizontal error where
# the line is not exposed, slope allowance.
Terms = tuple[float, float, float, float, float, float]


@nb.njit(cache=True)
def sample_stations(stations: FloatArray, low_m: float, high_m: float, extra_m: float) -> FloatArray:
    """Stations of an extent in order: every `SAMPLE_M` or closer, the path's vertices, and one more."""
    count = int(np.ceil((high_m - low_m) / SAMPLE_M)) + 1
    first = int(np.searchsorted(stations, low_m, side="right"))
    last = max(first, int(np.searchsorted(stations, high_m, side="left")))
    samples = np.empty(count + last - first + 1)
    for index in range(count):
        samples[index] = low_m + (high_m - low_m) * index / max(1, count - 1)
    samples[count : count + last - first] = stations[first:last]
    samples[-1] = extra_m
    return np.sort(samples)


@nb.njit(cache=True)
def _point_at(stations: FloatArray, path: FloatArray, station: float, point: FloatArray) -> None:
    """Set a point to that of the path at a station."""
    index = min(max(int(np.searchsorted(stations, station)), 1), len(stations) - 1)
    part = (station - stations[index - 1]) / (stations[index] - stations[index - 1])
    for axis in range(3):
        point[axis] = path[index - 1, axis] + part * (path[index, axis] - path[index - 1, axis])


@nb.njit(cache=True)
def line_errors(
    along_m: float,
    hole_along: FloatArray,
    hole_errors: FloatArray,
    reach_m: float,
    unexposed_error_m: float,
    slope_ratio: float,
) -> tuple[float, float]:
    """Horizontal and vertical error of a line at a point of it.

    Parameters
    ----------
    along_m : float
        The point, along the line in plan.
    hole_along, hole_errors : (h,) float array
        Its found test holes, one or more.
    reach_m : float
        Expose reach along the line, within which the nearest hole's error counts in plan.
    unexposed_error_m : float
        What counts beyond it: the mark's stated accuracy, else the tolerance zone.
    slope_ratio : float
        Height error gained with each metre from the nearest hole.

    Returns
    -------
    horizontal_m, vertical_m : float
    """
    nearest, error = np.inf, 0.0
    for index in range(len(hole_along)):
        away = abs(along_m - hole_along[index])
        if away < nearest or (away == nearest and hole_errors[index] > error):
            nearest, error = away, hole_errors[index]
    # A hole at the reach itself counts, whichever way the last digit of its distance was rounded.
    horizontal = error if nearest <= reach_m + 1e-9 else unexposed_error_m
    return horizontal, error + slope_ratio * nearest


@nb.njit(cache=True)
def error_terms_at(
    point: FloatArray, line: FloatArray, along: FloatArray, holes: Holes, terms: Terms
) -> tuple[float, float, float, int, float, float, float]:
    """What the worst case at one point of the bore is made of.

    Parameters
    ----------
    point : (3,) float array
        Of the bore's centre line.
    line, along : (m, 3) and (m,) float arrays
        The line's centre and its distance along itself in plan.
    holes : tuple of (h,) float arrays
    terms : tuple of float

    Returns
    -------
    centre_distance_m : float
        To the line's point nearest to it.
    level_share, plumb_share : float
        Parts of a level and of a plumb error that act along the way to it; both 1 where the distance is 0.
    segment, fraction : int, float
        Of the line's point.
    line_horizontal_m, line_vertical_m : float
        Errors of the line there.
    """
    _radii, _bore_horizontal, _bore_vertical, reach_m, unexposed_error_m, slope_ratio = terms
    j, t, squared = nearest_on_line(point, line)
    at = along[j] + t * (along[min(j + 1, len(line) - 1)] - along[j])
    line_horizontal, line_vertical = line_errors(
        at, holes[0], holes[1], reach_m, unexposed_error_m, slope_ratio
    )
    distance = np.sqrt(squared)
    level_share, plumb_share = 1.0, 1.0
    if distance > 0.0:
        rise = line[j, 2] + t * (line[min(j + 1, len(line) - 1), 2] - line[j, 2]) - point[2]
        plumb_share = min(1.0, abs(rise) / distance)
        level_share = np.sqrt(max(0.0, 1.0 - plumb_share * plumb_share))
    return distance, level_share, plumb_share, j, t, line_horizontal, line_vertical


@nb.njit(cache=True)
def worst_case_at(
    point: FloatArray, line: FloatArray, along: FloatArray, holes: Holes, terms: Terms
) -> tuple[float, float]:
    """Worst-case and likely separation at one point of the bore.

    Parameters
    ----------
    point, line, along, holes, terms
        As for `error_terms_at`.

    Returns
    -------
    worst_m, likely_m : float
        The separation less the sum of the errors' shares, and less their root sum of squares.
    """
    radii, bore_horizontal, bore_vertical = terms[0], terms[1], terms[2]
    distance, level_share, plumb_share, _j, _t, line_horizontal, line_vertical = error_terms_at(
        point, line, along, holes, terms
    )
    if distance > 0.0:
        loss = (bore_horizontal + line_horizontal) * level_share
        loss += (bore_vertical + line_vertical) * plumb_share
    else:
        loss = np.hypot(bore_horizontal + line_horizontal, bore_vertical + line_vertical)
    level = (bore_horizontal**2 + line_horizontal**2) * level_share**2
    plumb = (bore_vertical**2 + line_vertical**2) * plumb_share**2
    return distance - radii - loss, distance - radii - np.sqrt(level + plumb)


@nb.njit(cache=True)
def least_worst_case(
    stations: FloatArray,
    path: FloatArray,
    samples: FloatArray,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
) -> tuple[float, float, float]:
    """The least worst-case separation over an extent.

    Parameters
    ----------
    stations, path : (n,) and (n, 3) float arrays
        The bore.
    samples : (k,) float array
        Stations in order, from `sample_stations`.
    line, along, holes, terms
        As for `worst_case_at`.

    Returns
    -------
    worst_m, likely_m, station_m : float
        The least worst case, the likely figure at the same point, and its station.

    Notes
    -----
    Between the samples beside a sampled least the search goes on by golden section.
    """
    point = np.empty(3)
    sampled = np.empty(len(samples))
    for index, station in enumerate(samples):
        _point_at(stations, path, station, point)
        sampled[index] = worst_case_at(point, line, along, holes, terms)[0]
    least = sampled.min()
    best, at = least, samples[sampled.argmin()]
    for index in range(len(samples)):
        before, after = max(0, index - 1), min(len(samples) - 1, index + 1)
        if sampled[index] > least + SEARCHED_M:
            continue
        if sampled[index] > sampled[before] or sampled[index] > sampled[after]:
            continue
        low, high = samples[before], samples[after]
        while high - low > FOUND_M:
            first, second = high - GOLDEN_RATIO * (high - low), low + GOLDEN_RATIO * (high - low)
            _point_at(stations, path, first, point)
            at_first = worst_case_at(point, line, along, holes, terms)[0]
            _point_at(stations, path, second, point)
            at_second = worst_case_at(point, line, along, holes, terms)[0]
            if at_first <= at_second:
                high = second
            else:
                low = first
            if min(at_first, at_second) < best:
                best, at = (at_first, first) if at_first <= at_second else (at_second, second)
    _point_at(stations, path, at, point)
    worst, likely = worst_case_at(point, line, along, holes, terms)
    return worst, likely, at


@nb.njit(cache=True)
def stretch_beside(
    stations: FloatArray, path: FloatArray, samples: FloatArray, line: FloatArray, along: FloatArray
) -> tuple[float, float]:
    """First and last distance along a line of its points nearest in plan to the samples of an extent."""
    first, last = np.inf, -np.inf
    line_plan = line.copy()
    line_plan[:, 2] = 0.0
    point = np.zeros(3)
    for station in samples:
        _point_at(stations, path, station, point)
        point[2] = 0.0
        j, t, _squared = nearest_on_line(point, line_plan)
        at = along[j] + t * (along[min(j + 1, len(line) - 1)] - along[j])
        first, last = min(first, at), max(last, at)
    return first, last
