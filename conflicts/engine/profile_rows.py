"""A profile's demands as linear about the profile at hand: the rows of one step of `profile_refine`."""

from dataclasses import dataclass

import numba as nb
import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_arcs import Joints, arc_slopes, arc_step, place_at, place_slopes
from conflicts.engine.profile_limits import ProfileLimits
from conflicts.engine.profile_measure import Measured, turns_left_rad

# Stations between which the slope of the ground at the entry is taken, m.
GROUND_STEP_M = 0.01
# A height allowed that lies farther off than this is not met in one step, m.
FAR_OFF_M = 1.0
# Rows asked together have names about a multiple of this; no bore has as many micrometres.
NAMES_A_BLOCK = 2**44
# The terms of a row at the most.
MOST_TERMS = 7

# Rows being gathered: where each begins, its columns and their factors, the least and the most that its sum
# may be, and its name.
Gathered = tuple[np.ndarray, np.ndarray, FloatArray, FloatArray, FloatArray, np.ndarray]


@dataclass(frozen=True)
class Columns:
    """Where each column of a step stands, for so many rods.

    Moves come first: of the angle, the station and the elevation of every joint, then what the last rod grows
    by. Then the margin, the excess of places over what is allowed, and for each rod how far the angle at its
    end is moved or how far it turns: up, then for each rod down.
    """

    rods: int

    @property
    def stations(self) -> int:
        """The first of the moves of stations; those of the angles begin at 0."""
        return self.rods + 1

    @property
    def elevations(self) -> int:
        """The first of the moves of elevations."""
        return 2 * (self.rods + 1)

    @property
    def last_length(self) -> int:
        """Of what the last rod grows by."""
        return 3 * (self.rods + 1)

    @property
    def margin(self) -> int:
        """Of the margin."""
        return self.last_length + 1

    @property
    def excess(self) -> int:
        """Of the excess."""
        return self.last_length + 2

    @property
    def counted(self) -> int:
        """The first of what is counted for each rod."""
        return self.last_length + 3

    @property
    def count(self) -> int:
        """How many there are."""
        return self.counted + 2 * self.rods


@dataclass(frozen=True, eq=False)
class Rows:
    """Rows of a step: sums of columns, and what each may be at least and at most.

    Attributes
    ----------
    begins : (m + 1,) int array
        Where the terms of each row begin.
    columns, factors : (t,) arrays
        Of each term.
    least, most : (m,) float arrays
    names : (m,) int array
        By which a row is known again in the next step.
    """

    begins: np.ndarray
    columns: np.ndarray
    factors: FloatArray
    least: FloatArray
    most: FloatArray
    names: np.ndarray


def rows_about(
    limits: ProfileLimits, edges: FloatArray, heights_m: FloatArray, here: Measured, *, is_moved: bool
) -> Rows:
    """What may not be exceeded, and what must be met exactly.

    Edges of obstacles, the heights allowed, the places of the ends, bends, and that each joint ends the rod
    before it. Last it is counted how far each angle is moved, or how far each rod turns.

    Parameters
    ----------
    limits : ProfileLimits
    edges : (e, 4) float array
        Of the obstacles, from `profile_edges`.
    heights_m : (n,) float array
        Stations at which the heights allowed are asked.
    here : Measured
        The profile at hand.
    is_moved : bool
        Whether moves are counted, not turns.
    """
    rods = here.rods
    stations = heights_m[(heights_m > rods.entry_station_m) & (heights_m < limits.length_m)]
    heights = np.empty((len(stations), 3))
    heights[:, 0], heights[:, 1], heights[:, 2] = (
        stations,
        limits.highest_m(stations),
        limits.lowest_m(stations),
    )
    allowed = np.maximum(0.0, turns_left_rad(limits, rods))
    count = len(edges) + 2 * len(stations) + 4 * len(rods.lengths_m) + 8
    gathered = (
        np.zeros(count + 1, dtype=np.int32),
        np.empty(MOST_TERMS * count, dtype=np.int32),
        np.empty(MOST_TERMS * count),
        np.full(count, -np.inf),
        np.empty(count),
        np.empty(count, dtype=np.int64),
    )
    ends = _ends(limits, rods.entry_station_m)
    rows = _gather(gathered, rods.joints, edges, heights, ends, allowed, limits.bend_radius_m, is_moved)
    begins, columns, factors, least, most, names = gathered
    terms = begins[rows]
    return Rows(begins[: rows + 1], columns[:terms], factors[:terms], least[:rows], most[:rows], names[:rows])


def _ends(limits: ProfileLimits, entry_station_m: float) -> FloatArray:
    """Where the ends may be: station and elevations of the exit, elevations of the entry and their slope."""
    entry, leaving = limits.entry_elevation_m(entry_station_m), limits.exit_elevation_m
    ahead = limits.entry_elevation_m(entry_station_m + GROUND_STEP_M)
    slope = (ahead.least - entry.least) / GROUND_STEP_M
    return np.array([limits.length_m, leaving.least, leaving.greatest, entry.least, entry.greatest, slope])


@nb.njit(cache=True)
def _put(gathered: Gathered, row: int, column: int, factor: float) -> None:
    """One more term of a row."""
    at = gathered[0][row + 1]
    gathered[1][at], gathered[2][at] = column, factor
    gathered[0][row + 1] = at + 1


@nb.njit(cache=True)
def _ended(gathered: Gathered, row: int, least: float, most: float, name: int) -> int:
    """End a row, whose terms have been put: the next one."""
    gathered[3][row], gathered[4][row], gathered[5][row] = least, most, name
    if row + 2 < len(gathered[0]):
        gathered[0][row + 2] = gathered[0][row + 1]
    return row + 1


@nb.njit(cache=True)
def _gather(
    gathered: Gathered,
    joints: Joints,
    edges: FloatArray,
    heights: FloatArray,
    ends: FloatArray,
    allowed_rad: FloatArray,
    radius_m: float,
    is_moved: bool,
) -> int:
    """Gather all rows; how many there are."""
    row = 0
    for edge in range(len(edges)):
        station, height, by_margin, sign = edges[edge]
        place = place_at(joints, station)
        row = _ask_place(gathered, row, joints, place, (station, height, by_margin, sign), True)
    for number in range(len(heights)):
        station, highest, lowest = heights[number]
        place = place_at(joints, station)
        if highest - place[3] < FAR_OFF_M:
            row = _ask_place(gathered, row, joints, place, (station, highest, 0.0, 1.0), False)
        if place[3] - lowest < FAR_OFF_M:
            row = _ask_place(gathered, row, joints, place, (station, lowest, 0.0, -1.0), False)
    row = _ask_ends(gathered, row, joints, ends)
    row = _ask_turns(gathered, row, joints[3], allowed_rad, radius_m)
    row = _ask_counted(gathered, row, joints[3], is_moved)
    return int(_ask_joined(gathered, row, joints))


@nb.njit(cache=True)
def _ask_place(
    gathered: Gathered,
    row: int,
    joints: Joints,
    place: tuple[int, float, float, float],
    asked: tuple[float, float, float, float],
    is_edge: bool,
) -> int:
    """An elevation at a station: at most a height where the sign is above 0, at least it where it is not."""
    rod, fraction, angle, elevation = place
    station, height, by_margin, sign = asked
    rods = len(joints[2])
    by_first, by_last, by_length, by_station = place_slopes(joints[2][rod], joints[3][rod], fraction, angle)
    _put(gathered, row, rod, sign * by_first)
    _put(gathered, row, rod + 1, sign * by_last)
    _put(gathered, row, rods + 1 + rod, sign * by_station)
    _put(gathered, row, 2 * (rods + 1) + rod, sign)
    last_length = 3 * (rods + 1)
    if rod == rods - 1:
        _put(gathered, row, last_length, sign * by_length)
    if is_edge:
        _put(gathered, row, last_length + 1, by_margin)
    _put(gathered, row, last_length + 2, -1.0)
    # The station in micrometres, the side, and whose height it is.
    name = 4 * int(np.rint(1e6 * station)) + 2 * (sign > 0.0) + is_edge
    return int(_ended(gathered, row, -np.inf, sign * (height - elevation), name))


@nb.njit(cache=True)
def _ask_ends(gathered: Gathered, row: int, joints: Joints, ends: FloatArray) -> int:
    """The exit at its station and elevation, the entry at its depth wherever the rig is moved."""
    rods, name = len(joints[2]), NAMES_A_BLOCK
    excess = 3 * (rods + 1) + 2
    for column, at, least, greatest, slope in (
        (2 * rods + 1, joints[0][rods], ends[0], ends[0], 0.0),
        (3 * rods + 2, joints[1][rods], ends[1], ends[2], 0.0),
        (2 * rods + 2, joints[1][0], ends[3], ends[4], ends[5]),
    ):
        for sign in (1.0, -1.0):
            _put(gathered, row, column, sign)
            if slope != 0.0:
                _put(gathered, row, rods + 1, -sign * slope)
            _put(gathered, row, excess, -1.0)
            most = greatest - at if sign > 0.0 else at - least
            row, name = _ended(gathered, row, -np.inf, most, name), name + 1
    return row


@nb.njit(cache=True)
def _ask_turns(
    gathered: Gathered, row: int, angles_rad: FloatArray, allowed_rad: FloatArray, radius_m: float
) -> int:
    """What each rod turns; the last one may turn more where it is longer."""
    rods = len(allowed_rad)
    for rod in range(rods):
        now, name = angles_rad[rod + 1] - angles_rad[rod], 2 * NAMES_A_BLOCK + rod
        if rod < rods - 1:
            _put(gathered, row, rod + 1, 1.0)
            _put(gathered, row, rod, -1.0)
            row = _ended(gathered, row, -allowed_rad[rod] - now, allowed_rad[rod] - now, name)
            continue
        for sign in (1.0, -1.0):
            _put(gathered, row, rod + 1, sign)
            _put(gathered, row, rod, -sign)
            _put(gathered, row, 3 * (rods + 1), -1.0 / radius_m)
            row, name = _ended(gathered, row, -np.inf, allowed_rad[rod] - sign * now, name), name + 1
    return row


@nb.njit(cache=True)
def _ask_counted(gathered: Gathered, row: int, angles_rad: FloatArray, is_moved: bool) -> int:
    """Count for each rod how far the angle at its end is moved, or how far it turns, up and down."""
    rods = len(angles_rad) - 1
    up = 3 * (rods + 1) + 3
    for rod in range(rods):
        _put(gathered, row, rod + 1, 1.0)
        if not is_moved:
            _put(gathered, row, rod, -1.0)
        _put(gathered, row, up + rod, -1.0)
        _put(gathered, row, up + rods + rod, 1.0)
        now = 0.0 if is_moved else angles_rad[rod + 1] - angles_rad[rod]
        row = _ended(gathered, row, -now, -now, 3 * NAMES_A_BLOCK + rod)
    return row


@nb.njit(cache=True)
def _ask_joined(gathered: Gathered, row: int, joints: Joints) -> int:
    """Ask what must be met exactly: each joint ends the rod before it, and the first rod is straight."""
    lengths, angles = joints[2], joints[3]
    rods = len(lengths)
    for rod in range(rods):
        slopes, steps = arc_slopes(angles[rod], angles[rod + 1]), arc_step(angles[rod], angles[rod + 1])
        for side in range(2):
            first = (1 + side) * (rods + 1) + rod
            _put(gathered, row, first + 1, 1.0)
            _put(gathered, row, first, -1.0)
            _put(gathered, row, rod, -lengths[rod] * slopes[2 * side])
            _put(gathered, row, rod + 1, -lengths[rod] * slopes[2 * side + 1])
            if rod == rods - 1:
                _put(gathered, row, 3 * (rods + 1), -steps[side])
            row = _ended(gathered, row, 0.0, 0.0, 4 * NAMES_A_BLOCK + 2 * rod + side)
    _put(gathered, row, 1, 1.0)
    _put(gathered, row, 0, -1.0)
    now = angles[0] - angles[1]
    return int(_ended(gathered, row, now, now, 5 * NAMES_A_BLOCK))
