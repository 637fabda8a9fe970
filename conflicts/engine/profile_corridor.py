"""Which elevations and pitches a bore can have along its way, with every side of every line tried at once.

The sine u of the pitch changes along an arc by at most k = 1 / R a metre of station, and dz/dx = u / sqrt(1 -
u^2). Of all ways that have a pitch of u or less at a station, the highest came there steering down with all
there is; so the highest elevation H(u) of ways with that pitch or less is carried from one station of a grid
to the next without loss: H(u) on the next is H(u + k dx) here, and the rise of that way. The lowest elevation
of ways with that pitch or more is carried in the same manner. A line cuts what is between them in two parts,
over it and under it; parts that have met again are joined. Every rounding is outwards: where nothing is left,
no way exists.
"""

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray

# No elevation lies so far off, m; and where no pitch is left.
NO_LIMIT_M, NOTHING_M = 1e5, 1e6
# Parts that are kept apart at most. More are joined: that loses sharpness, never a way.
MOST_PARTS = 24
# Parts are joined where that adds no more than this, m.
ADDED_M = 2e-4

# Sines of the pitch at the nodes, the change of a step, and the steepest of all.
Sines = tuple[FloatArray, float, float]
# For each station of the grid where its cuts begin; then for each cut how far before the grid's station it
# lies, and the elevations below and above which it lets pass.
Cuts = tuple[np.ndarray, FloatArray, FloatArray, FloatArray]
# For each beginning the station of the grid, its straight steps, and its highest and lowest elevations by
# node.
Begins = tuple[np.ndarray, np.ndarray, FloatArray, FloatArray]
# Parts at stations: which row a station has, how many parts, and their highest and lowest elevations by node.
Kept = tuple[np.ndarray, np.ndarray, FloatArray, FloatArray]


@nb.njit(cache=True)
def most_rise_m(run_m: float, sine: float, bend_per_m: float, steepest: float) -> float:
    """What the highest way rises in a run that ends at a pitch, steering down all along.

    Parameters
    ----------
    run_m, sine, bend_per_m, steepest : float
        A pitch past the steepest counts as that.
    """
    last = min(max(sine, -steepest), steepest)
    before = min(last + bend_per_m * run_m, steepest)
    steered_m = (before - last) / bend_per_m
    rise = (np.sqrt(1.0 - last * last) - np.sqrt(1.0 - before * before)) / bend_per_m
    return float(rise + (run_m - steered_m) * before / np.sqrt(1.0 - before * before))


@nb.njit(cache=True)
def step_on(high: FloatArray, low: FloatArray, part: float, rises: FloatArray, straight: FloatArray) -> None:
    """Carry a part to the next station.

    Parameters
    ----------
    high, low : (m,) float arrays
        Are changed.
    part : float
        The part of a whole turn that is allowed.
    rises, straight : (m,) float arrays
        From `step_rises`.
    """
    last = len(high) - 1
    for node in range(last + 1):
        source = min(node + 1, last)
        turned = high[source] + rises[node]
        if part < 1.0 and abs(high[node]) < NO_LIMIT_M and abs(turned) < NO_LIMIT_M:
            turned = part * turned + (1.0 - part) * (high[node] + straight[node])
        high[node] = turned
    for node in range(last, -1, -1):
        source = max(node - 1, 0)
        # The lowest way is the highest of the world upside down.
        turned = low[source] - rises[last - node]
        if part < 1.0 and abs(low[node]) < NO_LIMIT_M and abs(turned) < NO_LIMIT_M:
            turned = part * turned + (1.0 - part) * (low[node] + straight[node])
        low[node] = turned


@nb.njit(cache=True)
def _cleaned(high: FloatArray, low: FloatArray) -> bool:
    """Take out pitches at which nothing is left; whether any is left."""
    count = len(high)
    is_left = low[0] <= high[0]
    if not is_left:
        high[0] = -NOTHING_M
    for node in range(1, count):
        if low[node - 1] <= high[node]:
            is_left = True
        else:
            high[node] = high[node - 1]
    for node in range(count - 1, 0, -1):
        if low[node - 1] > high[node]:
            low[node - 1] = low[node]
    return bool(is_left)


@nb.njit(cache=True)
def cut_off(
    high: FloatArray,
    low: FloatArray,
    sines: Sines,
    before_m: float,
    edge_m: float,
    bend: float,
    is_under: bool,
) -> bool:
    """Keep what lies under an edge that lies before this station, or over it; whether anything is left.

    Parameters
    ----------
    high, low : (m,) float arrays
        Are changed.
    sines : Sines
    before_m, edge_m : float
        How far before, and the edge's elevation.
    bend : float
        Change of the sine of the pitch a metre.
    is_under : bool
    """
    nodes, _turn, steepest = sines
    for node in range(len(nodes)):
        if is_under:
            rise = 0.0 if before_m == 0.0 else most_rise_m(before_m, nodes[node], bend, steepest)
            high[node] = min(high[node], edge_m + rise)
        else:
            rise = 0.0 if before_m == 0.0 else -most_rise_m(before_m, -nodes[node], bend, steepest)
            low[node] = max(low[node], edge_m + rise)
    return bool(_cleaned(high, low))


@nb.njit(cache=True)
def _is_joined(high: FloatArray, low: FloatArray, other_high: FloatArray, other_low: FloatArray) -> bool:
    """Whether two parts together are one, but for what may be added."""
    for node in range(1, len(high)):
        top, bottom = high[node], low[node - 1]
        other_top, other_bottom = other_high[node], other_low[node - 1]
        is_there, is_other = bottom <= top, other_bottom <= other_top
        if is_there and is_other:
            if max(bottom, other_bottom) > min(top, other_top) + ADDED_M:
                return False
        elif is_there:
            if other_top > top + ADDED_M or other_bottom < bottom - ADDED_M:
                return False
        elif is_other and (top > other_top + ADDED_M or bottom < other_bottom - ADDED_M):
            return False
    return True


@nb.njit(cache=True)
def _join(highs: FloatArray, lows: FloatArray, straight: np.ndarray, count: int) -> int:
    """Join parts that have met; how many there are then."""
    one = 0
    while one < count:
        other = one + 1
        while other < count:
            if straight[one] == straight[other] and _is_joined(
                highs[one], lows[one], highs[other], lows[other]
            ):
                _unite(highs, lows, one, other)
                count -= 1
                _move(highs, lows, straight, count, other)
                other = one + 1
            else:
                other += 1
        one += 1
    return count


@nb.njit(cache=True)
def _unite(highs: FloatArray, lows: FloatArray, one: int, other: int) -> None:
    for node in range(highs.shape[1]):
        highs[one, node] = max(highs[one, node], highs[other, node])
        lows[one, node] = min(lows[one, node], lows[other, node])


@nb.njit(cache=True)
def _move(highs: FloatArray, lows: FloatArray, straight: np.ndarray, source: int, goal: int) -> None:
    highs[goal], lows[goal], straight[goal] = highs[source], lows[source], straight[source]


@nb.njit(cache=True)
def _cut_all(
    highs: FloatArray,
    lows: FloatArray,
    straight: np.ndarray,
    count: int,
    sines: Sines,
    cut: tuple[float, float, float],
    bend: float,
) -> int:
    """Cut every part; how many there are then."""
    before_m, under_m, over_m = cut
    room = len(highs)
    for part in range(count - 1, -1, -1):
        highs[room - 1], lows[room - 1] = highs[part], lows[part]
        is_under = under_m > -NO_LIMIT_M and cut_off(
            highs[part], lows[part], sines, before_m, under_m, bend, True
        )
        is_over = over_m < NO_LIMIT_M and cut_off(
            highs[room - 1], lows[room - 1], sines, before_m, over_m, bend, False
        )
        if is_over and not is_under:
            highs[part], lows[part] = highs[room - 1], lows[room - 1]
        elif is_over and count < room - 1:
            straight[room - 1] = straight[part]
            _move(highs, lows, straight, room - 1, count)
            count += 1
        elif is_over:
            _unite(highs, lows, part, room - 1)
        elif not is_under:
            count -= 1
            _move(highs, lows, straight, count, part)
    return count


@nb.njit(cache=True)
def step_rises(sines: Sines, step_m: float) -> tuple[FloatArray, FloatArray]:
    """What a step rises at the most, and what it rises straight, for the pitch of each node at its end.

    Parameters
    ----------
    sines : Sines
    step_m : float
    """
    nodes, turn, steepest = sines
    rises, straight = np.empty(len(nodes)), np.empty(len(nodes))
    for node in range(len(nodes)):
        rises[node] = most_rise_m(step_m, nodes[node], turn / step_m, steepest)
        sine = min(max(nodes[node], -steepest), steepest)
        straight[node] = step_m * sine / np.sqrt(1.0 - sine * sine)
    return rises, straight


@nb.njit(cache=True)
def _begin_at(
    station: int,
    begun: int,
    begins: Begins,
    highs: FloatArray,
    lows: FloatArray,
    straight: np.ndarray,
    count: int,
) -> tuple[int, int]:
    """Take up what begins at a station: how much has begun, and how many parts there are then."""
    room = len(highs) - 1
    while begun < len(begins[0]) and begins[0][begun] == station:
        goal = min(count, room - 1)
        highs[room], lows[room], straight[room] = begins[2][begun], begins[3][begun], begins[1][begun]
        if count < room:
            _move(highs, lows, straight, room, goal)
            count += 1
        else:
            # What goes straight for less is allowed more.
            straight[goal] = min(straight[goal], straight[room])
            _unite(highs, lows, goal, room)
        begun += 1
    return begun, count


@nb.njit(cache=True)
def carried(
    sines: Sines,
    step_m: float,
    parts: FloatArray,
    begins: Begins,
    capped: tuple[FloatArray, FloatArray],
    cuts: Cuts,
    kept: Kept,
) -> tuple[FloatArray, FloatArray, int]:
    """What can be reached at the last station of a grid from the beginnings.

    Parameters
    ----------
    sines : Sines
    step_m : float
        Between two stations of the grid.
    parts : (n,) float array
        For each step the part of a whole turn that is allowed.
    begins : Begins
    capped : two (m,) float arrays
        What straight steps after a beginning rise: the most and the least, by node.
    cuts : Cuts
    kept : Kept
        Its rows are filled with the parts at the stations that have one.

    Returns
    -------
    highs_m, lows_m : (p, m) float arrays
    count : int
        How many of their rows count.
    """
    nodes, bend = sines[0], sines[1] / step_m
    rises, even = step_rises(sines, step_m)
    highs, lows = np.empty((MOST_PARTS + 1, len(nodes))), np.empty((MOST_PARTS + 1, len(nodes)))
    straight = np.zeros(MOST_PARTS + 1, dtype=np.int64)
    count, begun = 0, 0
    for station in range(len(parts) + 1):
        for part in range(count if station else 0):
            if straight[part] > 0:
                straight[part] -= 1
                highs[part] += capped[0]
                lows[part] += capped[1]
            else:
                step_on(highs[part], lows[part], parts[station - 1], rises, even)
        for number in range(cuts[0][station], cuts[0][station + 1]):
            if cuts[2][number] < NO_LIMIT_M or cuts[3][number] < NO_LIMIT_M:
                cut = (cuts[1][number], cuts[2][number], cuts[3][number])
                count = _cut_all(highs, lows, straight, count, sines, cut, bend)
        # What begins here may begin behind what was cut since the last station.
        begun, count = _begin_at(station, begun, begins, highs, lows, straight, count)
        if count > 1:
            count = _join(highs, lows, straight, count)
        row = kept[0][station]
        if row >= 0:
            kept[1][row] = count
            kept[2][row, :count], kept[3][row, :count] = highs[:count], lows[:count]
        if count == 0 and begun == len(begins[0]):
            break
    return highs, lows, count
