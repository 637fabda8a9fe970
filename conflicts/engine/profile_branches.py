"""Sides of lines by which a bore can go all its way, tried one after the other."""

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_corridor import (
    NO_LIMIT_M,
    NOTHING_M,
    Cuts,
    Kept,
    Sines,
    cut_off,
    step_on,
    step_rises,
)

# Sides of a line: over it, under it, or not settled.
OVER, UNDER, OPEN = 0, 1, -1
# So many beginnings of ways are followed before no more sides are looked for.
MOST_BRANCHES = 400

# The highest and lowest elevations by node, and the sides settled so far.
State = tuple[FloatArray, FloatArray, np.ndarray]
# States that wait, each a row, with the station and the cut that they wait at.
Stack = tuple[FloatArray, FloatArray, np.ndarray, np.ndarray, np.ndarray]
# What ways are followed by: the sines, the step, the parts of a turn, the rises of a step at the most and
# straight, straight steps to begin with and what they rise, the cuts and their lines.
Run = tuple[
    Sines, float, FloatArray, FloatArray, FloatArray, int, tuple[FloatArray, FloatArray], Cuts, np.ndarray
]


@nb.njit(cache=True)
def _room_m(high: FloatArray, low: FloatArray, back: tuple[int, FloatArray, FloatArray]) -> float:
    """The most that lies at any pitch between what is reached here and what reaches the exit from here."""
    room, last = -NOTHING_M, len(high) - 1
    for part in range(back[0]):
        # Seen from the exit a pitch has the other sign.
        for node in range(1, len(high)):
            top = min(high[node], back[1][part, last - node + 1])
            room = max(room, top - max(low[node - 1], back[2][part, last - node]))
    return room


@nb.njit(cache=True)
def _is_told(sides: np.ndarray, told: np.ndarray) -> bool:
    """Whether sides that have been settled hold all of one of some sets of sides."""
    for one in range(len(told)):
        is_held = True
        for line in range(len(sides)):
            if told[one, line] != OPEN and told[one, line] != sides[line]:
                is_held = False
                break
        if is_held:
            return True
    return False


@nb.njit(cache=True)
def _take_sides(
    here: State, other: State, cut: tuple[float, float, float], owner: int, run: Run, told: np.ndarray
) -> tuple[bool, bool]:
    """Cut what is here under an edge and what is in the other over it, and settle the side of each.

    Whether there is a way on under the edge, and over it.
    """
    sines, bend, (before_m, under_m, over_m) = run[0], run[0][1] / run[1], cut
    side = here[2][owner] if owner >= 0 else OPEN
    is_under = side != OVER and under_m > -NO_LIMIT_M
    is_over = side != UNDER and over_m < NO_LIMIT_M
    is_under = is_under and cut_off(here[0], here[1], sines, before_m, under_m, bend, True)
    is_over = is_over and cut_off(other[0], other[1], sines, before_m, over_m, bend, False)
    if owner >= 0 and side == OPEN and under_m < NO_LIMIT_M:
        here[2][owner], other[2][owner] = UNDER, OVER
        is_under = is_under and not _is_told(here[2], told)
        is_over = is_over and not _is_told(other[2], told)
    return is_under, is_over


@nb.njit(cache=True)
def _go_on(run: Run, back: Kept, told: np.ndarray, stack: Stack, waiting: int) -> tuple[bool, int]:
    """Follow what waits first on the better side of each line, and let the other side wait.

    Whether it comes to the exit, with its sides then where it waited, and how much waits.
    """
    _sines, _step_m, parts, rises, even, straight, capped, cuts, owners = run
    waiting -= 1
    here = (stack[0][waiting].copy(), stack[1][waiting].copy(), stack[2][waiting].copy())
    station, number = stack[3][waiting], stack[4][waiting]
    while station < len(parts) or number < cuts[0][station + 1]:
        if number == cuts[0][station + 1]:
            if station < straight:
                here[0][:] += capped[0]
                here[1][:] += capped[1]
            else:
                step_on(here[0], here[1], parts[station], rises, even)
            station += 1
            continue
        owner, cut = owners[number], (cuts[1][number], cuts[2][number], cuts[3][number])
        other = (here[0].copy(), here[1].copy(), here[2].copy())
        is_new = owner >= 0 and here[2][owner] == OPEN
        is_under, is_over = _take_sides(here, other, cut, owner, run, told)
        if is_new and (is_under or is_over):
            row = back[0][len(parts) - station]
            beyond = (back[1][row], back[2][row], back[3][row])
            under_m = _room_m(here[0], here[1], beyond) if is_under else -NOTHING_M
            over_m = _room_m(other[0], other[1], beyond) if is_over else -NOTHING_M
            is_under, is_over = under_m >= 0.0, over_m >= 0.0
            if is_under and is_over:
                is_under = under_m >= over_m
                is_over = not is_under
                aside = other if is_under else here
                stack[0][waiting], stack[1][waiting], stack[2][waiting] = aside
                stack[3][waiting], stack[4][waiting] = station, number + 1
                waiting += 1
        if not is_under and not is_over:
            return False, waiting
        if not is_under:
            here = other
        number += 1
    stack[2][waiting] = here[2]
    return not _is_told(here[2], told), waiting


@nb.njit(cache=True)
def way_through(
    sines: Sines,
    step_m: float,
    parts: FloatArray,
    begin: tuple[int, FloatArray, FloatArray],
    capped: tuple[FloatArray, FloatArray],
    cuts: Cuts,
    owners: np.ndarray,
    back: Kept,
    told: np.ndarray,
) -> tuple[bool, bool, np.ndarray]:
    """Sides of all lines with a way to the exit that hold none of some sets of sides.

    Parameters
    ----------
    sines, step_m, parts, capped, cuts
        As in `profile_corridor.carried`.
    begin : tuple
        Straight steps of the one beginning, its highest and lowest elevations by node.
    owners : (c,) int array
        The line of each cut, below 0 for heights that are allowed.
    back : Kept
        What reaches the exit, kept at the stations at which lines are cut; counted from the exit.
    told : (t, k) int array
        Sets of sides not to be found, `OPEN` where either side is meant.

    Returns
    -------
    is_found, is_all : bool
        Whether there are such sides; whether all there are were looked at, so that there are no others.
    sides : (k,) int array
    """
    count, lines = len(sines[0]), told.shape[1]
    rises, even = step_rises(sines, step_m)
    run = (sines, step_m, parts, rises, even, begin[0], capped, cuts, owners)
    # What waits was left aside at one line each on the way to what is followed.
    room = lines + 2
    stack = (
        np.empty((room, count)),
        np.empty((room, count)),
        np.full((room, lines), OPEN),
        np.zeros(room, dtype=np.int64),
        np.zeros(room, dtype=np.int64),
    )
    stack[0][0], stack[1][0] = begin[1], begin[2]
    waiting = 1
    for _ in range(MOST_BRANCHES):
        is_found, waiting = _go_on(run, back, told, stack, waiting)
        if is_found:
            return True, False, stack[2][waiting]
        if waiting == 0:
            return False, True, np.full(lines, OPEN)
    return False, False, np.full(lines, OPEN)
