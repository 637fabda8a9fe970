"""From which heights and pitches every line ahead can still be passed, worked out from the last line back.

A way ahead is the sine u of its pitch by run, which steering changes by at most k a metre, and its elevation,
dz/dx = u / sqrt(1 - u^2). With a side for each line, the elevations from which all lines beyond a place can
be passed are an interval for each u. Both of its ends fall with u, so the highest elevation that can still
come under everything is that of the least u in reach: the upper end is carried back along ways that steer
down with all there is, the lower along ways that steer up.
"""

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray

# No elevation lies so far off, m: where nothing limits it.
NO_LIMIT_M = 1e6
# Two pitches nearer than this are one, as sines.
SAME_SINE = 1e-12

# One end of the elevations as a function of u: those of its nodes at even steps of u, the sine of the first,
# the step, and the ends of the pitches that count with the elevations there.
Curve = tuple[FloatArray, float, float, float, float, float, float]


@nb.njit(cache=True)
def rise_m(run_m: float, first_sine: float, last_sine: float) -> float:
    """What a way rises while the sine of its pitch goes evenly from one to another (`reach.SteeredWay`)."""
    cosines = np.sqrt(1.0 - first_sine * first_sine) + np.sqrt(1.0 - last_sine * last_sine)
    return float(run_m * (first_sine + last_sine) / cosines)


@nb.njit(cache=True)
def _at(curve: Curve, sine: float) -> float:
    """The elevation at a pitch: linear between the nodes that count and the ends."""
    nodes, first, step, least, at_least, greatest, at_greatest = curve
    if sine <= least:
        return at_least
    if sine >= greatest:
        return at_greatest
    place = min(max(int(np.floor((sine - first) / step)), 0), len(nodes) - 2)
    left, left_m = first + place * step, nodes[place]
    if left < least:
        left, left_m = least, at_least
    right, right_m = first + (place + 1) * step, nodes[place + 1]
    if right > greatest:
        right, right_m = greatest, at_greatest
    if right - left < SAME_SINE:
        return float(right_m)
    return float(left_m + (right_m - left_m) * (sine - left) / (right - left))


@nb.njit(cache=True)
def _carried_back(curve: Curve, run_m: float, turn: float, lowest: float, highest: float) -> Curve:
    """The upper end of the elevations one step farther back.

    From the pitch u one comes in the step to u - turn at the least: the end is that of there, less the rise.
    Pitches below those that counted come to the least that did.
    """
    nodes, first, step, least, at_least, greatest, _at_greatest = curve
    new_least, new_greatest = max(lowest, least - turn), min(highest, greatest + turn)
    source = max(new_greatest - turn, least)
    new_at_greatest = _at(curve, source) - rise_m(run_m, new_greatest, source)
    new_at_least = at_least - rise_m(run_m, new_least, least)
    new_first = first + turn
    begin = max(0, int(np.ceil((new_least - new_first) / step)))
    end = min(len(nodes) - 1, int(np.floor((new_greatest - new_first) / step)))
    for place in range(begin, end + 1):
        sine = new_first + place * step
        before = sine - turn
        if before >= least:
            nodes[place] -= rise_m(run_m, sine, before)
        else:
            nodes[place] = at_least - rise_m(run_m, sine, least)
    return (nodes, new_first, step, new_least, new_at_least, new_greatest, new_at_greatest)


@nb.njit(cache=True)
def _kept_below(curve: Curve, most_m: float) -> Curve:
    """The upper end where no elevation may be more than this."""
    nodes, first, step, least, at_least, greatest, at_greatest = curve
    begin = max(0, int(np.ceil((least - first) / step)))
    end = min(len(nodes) - 1, int(np.floor((greatest - first) / step)))
    for place in range(begin, end + 1):
        nodes[place] = min(nodes[place], most_m)
    return (nodes, first, step, least, min(at_least, most_m), greatest, min(at_greatest, most_m))


@nb.njit(cache=True)
def _room_m(upper: Curve, turned_lower: Curve, sine: float) -> float:
    """What lies between both ends at a pitch; below 0 where they leave nothing."""
    return _at(upper, sine) + _at(turned_lower, -sine)


@nb.njit(cache=True)
def _narrowed(curve: Curve, least: float, greatest: float) -> Curve:
    at_least, at_greatest = _at(curve, least), _at(curve, greatest)
    return (curve[0], curve[1], curve[2], least, at_least, greatest, at_greatest)


@nb.njit(cache=True)
def _pitches_left(upper: Curve, turned_lower: Curve, is_from_above: bool) -> float:
    """The least pitch at which both ends leave something, or the greatest; NaN where there is none.

    Both ends are linear between the nodes of either, so what lies between them is greatest at one of these.
    """
    least, greatest = upper[3], upper[5]
    sign = -1.0 if is_from_above else 1.0
    begin, last = (greatest, least) if is_from_above else (least, greatest)
    if _room_m(upper, turned_lower, begin) >= 0.0:
        return begin
    found = np.nan
    if _room_m(upper, turned_lower, last) >= 0.0:
        found = last
    for curve, mirrored in ((upper, 1.0), (turned_lower, -1.0)):
        first, step = curve[1], curve[2]
        low = max(0, int(np.ceil((curve[3] - first) / step)))
        high = min(len(curve[0]) - 1, int(np.floor((curve[5] - first) / step)))
        for place in range(low, high + 1):
            sine = mirrored * (first + place * step)
            if not sign * sine >= sign * found and _room_m(upper, turned_lower, sine) >= 0.0:
                found = sine
    if np.isnan(found):
        return found
    # The node before it, on whichever end it lies, has no room.
    before = begin
    for curve, mirrored in ((upper, 1.0), (turned_lower, -1.0)):
        first, step = curve[1], curve[2]
        at = (mirrored * found - first) / step
        near = np.ceil(at - 1e-6) - 1.0 if mirrored * sign > 0.0 else np.floor(at + 1e-6) + 1.0
        sine = mirrored * (first + near * step)
        if sign * sine > sign * before:
            before = sine
    outside, inside = _room_m(upper, turned_lower, before), _room_m(upper, turned_lower, found)
    return float(before + (found - before) * outside / (outside - inside))


@nb.njit(cache=True)
def sections_m(
    runs_m: FloatArray,
    over_m: FloatArray,
    under_m: FloatArray,
    bends_per_m: FloatArray,
    sines: tuple[float, float, float],
    asked: tuple[np.ndarray, FloatArray],
) -> FloatArray:
    """Elevations from which every line beyond a place can be passed, for places and pitches asked.

    Parameters
    ----------
    runs_m : (n,) float array
        Places, increasing.
    over_m, under_m : (n,) float arrays
        Elevations that may not be less, and not more, at each; infinite where nothing is asked.
    bends_per_m : (n - 1,) float array
        The most that the sine of the pitch changes a metre between two places.
    sines : tuple of float
        The lowest and the highest that anybody steers to, and the step of the nodes.
    asked : tuple of (m,) int array, (m,) float array
        Which place and which sine; the places not decreasing.

    Returns
    -------
    (m, 2) float array
        The lowest and the highest elevation; NaN where there is none.
    """
    lowest, highest, step = sines
    places, asked_sines = asked
    found = np.full((len(places), 2), np.nan)
    whole = 0.0
    for index in range(len(bends_per_m)):
        whole += bends_per_m[index] * (runs_m[index + 1] - runs_m[index])
    count = int(np.ceil((highest - lowest + whole) / step)) + 3
    # The lower end is the upper one of the world upside down: elevations and pitches change their sign.
    upper = (np.full(count, NO_LIMIT_M), lowest - whole - step, step, lowest, NO_LIMIT_M, highest, NO_LIMIT_M)
    lower = (
        np.full(count, NO_LIMIT_M),
        -highest - whole - step,
        step,
        -highest,
        NO_LIMIT_M,
        -lowest,
        NO_LIMIT_M,
    )
    left = len(places) - 1
    for index in range(len(runs_m) - 1, -1, -1):
        if index < len(runs_m) - 1:
            run_m = runs_m[index + 1] - runs_m[index]
            turn = bends_per_m[index] * run_m
            upper = _carried_back(upper, run_m, turn, lowest, highest)
            lower = _carried_back(lower, run_m, turn, -highest, -lowest)
        if under_m[index] < NO_LIMIT_M:
            upper = _kept_below(upper, under_m[index])
        if over_m[index] > -NO_LIMIT_M:
            lower = _kept_below(lower, -over_m[index])
        if under_m[index] < NO_LIMIT_M or over_m[index] > -NO_LIMIT_M:
            least = _pitches_left(upper, lower, False)
            if np.isnan(least):
                return found
            greatest = _pitches_left(upper, lower, True)
            upper = _narrowed(upper, least, max(least, greatest))
            lower = _narrowed(lower, -max(least, greatest), -least)
        while left >= 0 and places[left] == index:
            sine = asked_sines[left]
            if upper[3] - SAME_SINE <= sine <= upper[5] + SAME_SINE:
                found[left, 0] = -_at(lower, -sine)
                found[left, 1] = _at(upper, sine)
            left -= 1
    return found
