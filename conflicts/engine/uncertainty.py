"""What is left of a separation when every position is as wrong as stated, compiled.

For a bore point p and the line's point q nearest to it, v = q - p, the error that counts is its share along
v: (E_h |v_h| + E_v |v_z|) / |v|. For straight lines that is the exact loss of distance under shifts of up to
E_h in plan and E_v in height.
"""

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.meeting import nearest_on_line
from conflicts.engine.terms import TOUCHES_M

# Longest step of station between two samples, as the design asks.
SAMPLE_M = 0.05
# Samples that are least among their neighbours and within this of the least of all are searched between
# samples: for centre distances of 15 cm and more a sampled least is off by less than 0.05^2 / (8 * 0.15) m.
SEARCHED_M = 0.005
# Where the centre lines come nearer than this, the way between them turns within millimetres of station, and
# the samples about the nearest point close in on it by halves.
TURNS_M = 0.25
HALVINGS = 18
# The search between samples ends at this width of station, and between samples that close in at the finest.
FOUND_M = 1e-7
FINEST_M = 1e-9
# Of samples nearer to each other than this rounding decides which is less, and so on which side of them the
# search would go on: they are one.
MERGED_M = 1e-7
GOLDEN_RATIO = 0.6180339887498949
# A change of the line's errors from one sample to the next that its slope allowance does not make.
STEP_M = 0.002
# A least beside a step is at most so far below both samples: a worst case changes by less than twice the step
# of station on either side of it.
BESIDE_STEP_M = 2.0 * SAMPLE_M

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
def point_at(stations: FloatArray, path: FloatArray, station: float, point: FloatArray) -> None:
    """Set a point to that of the path at a station, carried on straight past an end.

    Parameters
    ----------
    stations : (n,) float array
    path : (n, 3) float array
    station : float
    point : (3,) float array
        Is set.
    """
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
        Parts of a level and of a plumb error that act along the way to it; both 1 where the lines touch.
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
    if distance > TOUCHES_M:
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
    if distance > TOUCHES_M:
        loss = (bore_horizontal + line_horizontal) * level_share
        loss += (bore_vertical + line_vertical) * plumb_share
    else:
        loss = np.hypot(bore_horizontal + line_horizontal, bore_vertical + line_vertical)
    level = (bore_horizontal**2 + line_horizontal**2) * level_share**2
    plumb = (bore_vertical**2 + line_vertical**2) * plumb_share**2
    # The root of the sum of squares is never more than the sum; where one error alone acts the two are equal,
    # and rounding must not turn them about.
    return distance - radii - loss, distance - radii - min(loss, np.sqrt(level + plumb))


@nb.njit(cache=True)
def _squared_at(station: float, stations: FloatArray, path: FloatArray, line: FloatArray) -> float:
    """Squared centre distance from the path at a station to the line."""
    point = np.empty(3)
    point_at(stations, path, station, point)
    return nearest_on_line(point, line)[2]


@nb.njit(cache=True)
def _closing_in(samples: FloatArray, stations: FloatArray, path: FloatArray, line: FloatArray) -> FloatArray:
    """The samples, and more that close in on each place where the centre lines nearly touch, in order."""
    squared = np.array([_squared_at(station, stations, path, line) for station in samples])
    more = []
    for index in range(len(samples)):
        before, after = max(0, index - 1), min(len(samples) - 1, index + 1)
        if squared[index] > TURNS_M**2 or squared[index] > min(squared[before], squared[after]):
            continue
        low, high = samples[before], samples[after]
        while high - low > FINEST_M:
            first, second = high - GOLDEN_RATIO * (high - low), low + GOLDEN_RATIO * (high - low)
            if _squared_at(first, stations, path, line) <= _squared_at(second, stations, path, line):
                high = second
            else:
                low = first
        nearest = 0.5 * (low + high)
        more.append(nearest)
        for halving in range(HALVINGS):
            for station in (nearest - SAMPLE_M / 2.0**halving, nearest + SAMPLE_M / 2.0**halving):
                if samples[0] <= station <= samples[-1]:
                    more.append(station)
    if len(more) == 0:
        return _merged(samples)
    return _merged(np.sort(np.concatenate((samples, np.array(more)))))


@nb.njit(cache=True)
def _merged(samples: FloatArray) -> FloatArray:
    """The samples, in order, without those that hardly lie beyond another; the first and the last stay."""
    merged = np.empty(len(samples))
    merged[0], count = samples[0], 1
    for station in samples[1:]:
        if station - merged[count - 1] > MERGED_M:
            merged[count] = station
            count += 1
    if count > 1:
        merged[count - 1] = samples[-1]
    return merged[:count]


@nb.njit(cache=True)
def _at_station(
    station: float,
    stations: FloatArray,
    path: FloatArray,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
) -> tuple[float, float, float]:
    """Worst case at a station, and the line's horizontal and vertical error there."""
    point = np.empty(3)
    point_at(stations, path, station, point)
    worst, _likely = worst_case_at(point, line, along, holes, terms)
    _distance, _level, _plumb, _j, _t, horizontal, vertical = error_terms_at(point, line, along, holes, terms)
    return worst, horizontal, vertical


@nb.njit(cache=True)
def _valley(
    low: float,
    high: float,
    stations: FloatArray,
    path: FloatArray,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
) -> tuple[float, float]:
    """Least worst case between two stations, by golden section, and its station."""
    best, at = np.inf, low
    # Never finer than the digits of a station, or the search would not end.
    found_m = max(FINEST_M, min(FOUND_M, 1e-3 * (high - low)))
    while high - low > found_m:
        first, second = high - GOLDEN_RATIO * (high - low), low + GOLDEN_RATIO * (high - low)
        at_first = _at_station(first, stations, path, line, along, holes, terms)[0]
        at_second = _at_station(second, stations, path, line, along, holes, terms)[0]
        if min(at_first, at_second) < best:
            best, at = (at_first, first) if at_first <= at_second else (at_second, second)
        if at_first <= at_second:
            high = second
        else:
            low = first
    return best, at


@nb.njit(cache=True)
def _step(
    low: float,
    high: float,
    stations: FloatArray,
    path: FloatArray,
    line: FloatArray,
    along: FloatArray,
    holes: Holes,
    terms: Terms,
) -> tuple[float, float]:
    """Least worst case beside a step of the line's errors between two stations, and its station."""
    at_low = _at_station(low, stations, path, line, along, holes, terms)
    at_high = _at_station(high, stations, path, line, along, holes, terms)
    while high - low > FOUND_M:
        middle = 0.5 * (low + high)
        found = _at_station(middle, stations, path, line, along, holes, terms)
        to_low = abs(found[1] - at_low[1]) + abs(found[2] - at_low[2])
        to_high = abs(found[1] - at_high[1]) + abs(found[2] - at_high[2])
        if to_low <= to_high:
            low, at_low = middle, found
        else:
            high, at_high = middle, found
    return (at_low[0], low) if at_low[0] <= at_high[0] else (at_high[0], high)


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
    Beside a sampled least the search goes on between the samples by golden section. Where the line's errors
    step between two samples (at the reach of a test hole, or half-way between two), the step is found by
    halving, for the least often lies just beyond it.
    """
    samples = _closing_in(samples, stations, path, line)
    sampled = np.empty((len(samples), 3))
    for index, station in enumerate(samples):
        sampled[index] = _at_station(station, stations, path, line, along, holes, terms)
    worst = sampled[:, 0]
    least = worst.min()
    best, at = least, samples[worst.argmin()]
    for index in range(len(samples)):
        before, after = max(0, index - 1), min(len(samples) - 1, index + 1)
        if worst[index] <= least + SEARCHED_M and worst[index] <= min(worst[before], worst[after]):
            low, high = samples[before], samples[after]
            found, place = _valley(low, high, stations, path, line, along, holes, terms)
            if found < best:
                best, at = found, place
        stepped = abs(sampled[after, 1] - sampled[index, 1]) + abs(sampled[after, 2] - sampled[index, 2])
        if stepped > STEP_M and min(worst[index], worst[after]) <= least + BESIDE_STEP_M:
            low, high = samples[index], samples[after]
            found, place = _step(low, high, stations, path, line, along, holes, terms)
            if found < best:
                best, at = found, place
    point = np.empty(3)
    point_at(stations, path, at, point)
    worst_m, likely_m = worst_case_at(point, line, along, holes, terms)
    return worst_m, likely_m, at


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
        point_at(stations, path, station, point)
        point[2] = 0.0
        j, t, _squared = nearest_on_line(point, line_plan)
        at = along[j] + t * (along[min(j + 1, len(line) - 1)] - along[j])
        first, last = min(first, at), max(last, at)
    return first, last
