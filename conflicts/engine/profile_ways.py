"""The margin past which no way leads to the exit, and sides of the lines by which one does below it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_branches import way_through
from conflicts.engine.profile_corridor import MOST_PARTS, NOTHING_M, Begins, Cuts, Kept, Sines, carried
from conflicts.engine.profile_limits import Obstacle, ProfileLimits, Range
from conflicts.engine.profile_samples import Telling

# The grid: so many nodes of station and pitch about, and steps of no more and no less than this, m.
NODES = 60_000.0
LONGEST_STEP_M, SHORTEST_STEP_M = 0.3, 0.02
# No pitch of any profile is steeper than this sine.
STEEPEST_SINE = float(np.sin(np.radians(45.0)))
# The largest margin is found to this, m, with edges that are linear in the margin between so many of them.
FOUND_M, LEVELS = 0.004, 11
# What every limit is eased by, m: less than the last digit of any record.
SURE_M = 1e-5


@dataclass(frozen=True, eq=False)
class _Run:
    """A direction in which ways are followed, and what it is asked on the way.

    ``order`` sorts what is asked to the stations of the grid that follow it, of which each has the cuts from
    its begin on; ``before_m`` says how far before its station each lies. Seen from the exit a pitch has the
    other sign.
    """

    sines: Sines
    parts: FloatArray
    begins: Begins
    capped: tuple[FloatArray, FloatArray]
    order: np.ndarray
    cut_begins: np.ndarray
    before_m: FloatArray
    last_pitch: Range

    def cuts(self, under_m: FloatArray, over_m: FloatArray) -> Cuts:
        """What is asked, in the order of the grid."""
        return self.cut_begins, self.before_m, under_m[self.order] + SURE_M, over_m[self.order] - SURE_M


class Ways:
    """All ways of a bore from a stretch of entries to its exit, with a margin to every line.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    telling : sequence of Telling
        Where each obstacle is asked about.
    entry_m : Range
        Where the rig may stand.
    is_sure : bool
        That what the alignment turns takes nothing from the pitch, so that what is not found is not there.
    """

    def __init__(
        self,
        limits: ProfileLimits,
        obstacles: Sequence[Obstacle],
        telling: Sequence[Telling],
        entry_m: Range,
        *,
        is_sure: bool,
    ) -> None:
        self._limits, self._obstacles, self._entry_m = limits, obstacles, entry_m
        run_m = limits.length_m - entry_m.least
        self._steepest = min(STEEPEST_SINE, _sine(limits.steepest_pitch_ratio))
        whole = 2.0 * self._steepest * limits.bend_radius_m * run_m
        wanted_m = min(LONGEST_STEP_M, max(SHORTEST_STEP_M, float(np.sqrt(whole / NODES))))
        self._count = max(8, int(np.ceil(run_m / wanted_m)))
        self._step_m = run_m / self._count
        self._joints_m = entry_m.least + self._step_m * np.arange(self._count + 1)
        self._parts = np.ones(self._count) if is_sure or not limits.plan_bends else self._parts_left()
        self._asked_at = [one.between(entry_m.least, limits.length_m) for one in telling]
        self._ask_heights()
        self._owners = np.repeat(np.arange(len(obstacles)), [len(one) for one in self._asked_at])
        self._owners = np.concatenate([self._owners, np.full(len(self._heights_m), -1)])
        self._stations_m = np.concatenate([*self._asked_at, self._heights_m])
        self._levels: dict[float, tuple[FloatArray, FloatArray]] = {}
        self._on = self._forwards()
        self._is_one_place = entry_m.least == entry_m.greatest
        # From the exit on the pitches of the exit are met exactly, and the entry's only nearly.
        self._back = self._backwards(self._sines(limits.exit_pitch_ratio, is_back=True))

    def is_open(self, margin_m: float) -> bool:
        """Whether a way may exist that has the margin to every line.

        Parameters
        ----------
        margin_m : float
        """
        asked = self._asked(margin_m)
        if not self._is_open(*asked):
            return False
        if not self._is_one_place:
            return True
        is_found, is_all, _sides = self._through(asked, ())
        return is_found or not is_all

    def widest_m(self) -> float | None:
        """The largest margin with which a way may exist, to `FOUND_M`; None where none has any."""
        most_m = self._limits.enough_margin_m
        for run in self._runs():
            found_m = self._widest_of(run, most_m)
            if found_m is None:
                return None
            most_m = found_m
        return most_m

    def _widest_of(self, run: _Run, most_m: float) -> float | None:
        """The largest margin, no more than one, with which a run comes to its end; None where none does."""
        levels = np.linspace(0.0, self._limits.enough_margin_m, LEVELS)
        last = int(np.searchsorted(levels, most_m))
        if self._is_through(run, *self._asked_about(most_m, levels)):
            return most_m
        first = 0
        if not self._is_through(run, *self._asked(levels[first])):
            return None
        while last - first > 1:
            middle = (first + last) // 2
            if self._is_through(run, *self._asked(levels[middle])):
                first = middle
            else:
                last = middle
        low, high = 0.0, 1.0
        under, over = zip(self._asked(levels[first]), self._asked(levels[last]), strict=True)
        while (high - low) * (levels[last] - levels[first]) > FOUND_M:
            part = 0.5 * (low + high)
            if self._is_through(run, _mixed(*under, part), _mixed(*over, part)):
                low = part
            else:
                high = part
        return min(most_m, float(levels[first] + low * (levels[last] - levels[first])))

    def _asked_about(self, margin_m: float, levels: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What is asked with a margin, as linear between the levels beside it."""
        after = max(1, int(np.searchsorted(levels, margin_m)))
        if margin_m == levels[after]:
            return self._asked(levels[after])
        part = float((margin_m - levels[after - 1]) / (levels[after] - levels[after - 1]))
        under, over = zip(self._asked(levels[after - 1]), self._asked(levels[after]), strict=True)
        return _mixed(*under, part), _mixed(*over, part)

    def sides(self, margin_m: float, told: Sequence[np.ndarray]) -> np.ndarray | None:
        """The side of each line on a way that has a margin; None where no other is found.

        Parameters
        ----------
        margin_m : float
        told : sequence of (k,) int arrays
            Sets of sides not to be found: `profile_branches.OVER`, `UNDER` and `OPEN`.
        """
        is_found, _is_all, sides = self._through(self._asked(margin_m), told)
        return sides if is_found else None

    def _through(
        self, asked: tuple[FloatArray, FloatArray], told: Sequence[np.ndarray]
    ) -> tuple[bool, bool, np.ndarray]:
        """Sides of a way from one place to the exit (`profile_branches.way_through`)."""
        back, owners = self._back_on_nodes, self._owners[self._on.order]
        kept = self._kept(self._cut_stations, len(back.sines[0]))
        cuts = back.cuts(*asked)
        carried(back.sines, self._step_m, back.parts, back.begins, back.capped, cuts, kept)
        _where, straight, highs, lows = self._on.begins
        return way_through(
            self._on.sines,
            self._step_m,
            self._parts,
            (int(straight[0]), highs[0], lows[0]),
            self._on.capped,
            self._on.cuts(*asked),
            owners,
            kept,
            np.array(told, dtype=np.int64).reshape(len(told), len(self._obstacles)),
        )

    @cached_property
    def _back_on_nodes(self) -> _Run:
        """From the exit on the nodes that are followed from the entry."""
        nodes, turn, steepest = self._on.sines
        return self._backwards((-nodes[::-1], turn, steepest))

    @cached_property
    def _cut_stations(self) -> np.ndarray:
        """Stations of the grid before which lines are cut, counted from the exit."""
        stations = np.repeat(np.arange(self._count + 1), np.diff(self._on.cut_begins))
        return np.unique(self._count - stations[self._owners[self._on.order] >= 0])

    def _is_open(self, under_m: FloatArray, over_m: FloatArray) -> bool:
        return all(self._is_through(run, under_m, over_m) for run in self._runs())

    def _runs(self) -> tuple[_Run, ...]:
        return (self._on, self._back) if self._is_one_place else (self._on,)

    def _is_through(self, run: _Run, under_m: FloatArray, over_m: FloatArray) -> bool:
        """Whether anything that begins a run comes to its end."""
        nodes, pitch = run.sines[0], run.last_pitch
        kept = self._kept(np.empty(0, dtype=np.int64), len(nodes))
        cuts = run.cuts(under_m, over_m)
        highs, lows, count = carried(run.sines, self._step_m, run.parts, run.begins, run.capped, cuts, kept)
        is_left = lows[:count, :-1] <= highs[:count, 1:]
        is_meant = (nodes[1:] >= _sine(pitch.least) - 1e-9) & (nodes[:-1] <= _sine(pitch.greatest) + 1e-9)
        return bool((is_left & is_meant).any())

    def _asked(self, margin_m: float) -> tuple[FloatArray, FloatArray]:
        """Elevations below and above which the bore may be, with a margin to every line."""
        if margin_m not in self._levels:
            edges = [
                obstacle.edges_m(stations, margin_m)
                for obstacle, stations in zip(self._obstacles, self._asked_at, strict=True)
            ]
            under = np.concatenate([*(one[0] for one in edges), self._heights_under_m])
            over = np.concatenate([*(one[1] for one in edges), self._heights_over_m])
            is_free = np.isnan(under)
            under[is_free], over[is_free] = NOTHING_M, NOTHING_M
            self._levels[margin_m] = under, over
        return self._levels[margin_m]

    def _ask_heights(self) -> None:
        """The heights allowed: on the grid, where they change, and at the ends."""
        limits, first = self._limits, self._entry_m
        edges = np.array([limits.covered_m.least, limits.covered_m.greatest])
        inner = np.unique(np.concatenate([self._joints_m[2:-1:2], edges, limits.ground.stations_m]))
        inner = inner[(inner > first.greatest) & (inner < limits.length_m)]
        entry, leaving = limits.entry_elevation_m(first.least), limits.exit_elevation_m
        ends_m = [limits.length_m, first.least] if first.least == first.greatest else [limits.length_m]
        stations = np.concatenate([inner, ends_m])
        count = len(stations)
        highest = [*limits.highest_m(inner), leaving.greatest, entry.greatest][:count]
        lowest = [*limits.lowest_m(inner), leaving.least, entry.least][:count]
        self._heights_m = np.concatenate([stations, stations])
        self._heights_under_m = np.concatenate([highest, np.full(count, -NOTHING_M)])
        self._heights_over_m = np.concatenate([np.full(count, NOTHING_M), lowest])

    def _parts_left(self) -> FloatArray:
        """The part of a whole turn that each step has left beside what its rod turns in plan."""
        limits, first = self._limits, self._entry_m.least
        rods = np.floor((self._joints_m[:-1] + 0.5 * self._step_m - first) / limits.rod_length_m)
        begins = first + rods * limits.rod_length_m
        level = limits.level_turns_rad(begins, begins + limits.rod_length_m)
        left = limits.turns_left_rad(np.full(self._count, limits.rod_length_m), level)
        return np.asarray(np.maximum(0.0, left) * limits.bend_radius_m / limits.rod_length_m, dtype=float)

    def _forwards(self) -> _Run:
        limits = self._limits
        sines = self._sines(limits.entry_pitch_ratio, is_back=False)
        capped = self._straight(sines[0])
        order, begins, before = self._order(self._stations_m - self._entry_m.least)
        where = self._begins(sines[0], capped)
        return _Run(sines, self._parts, where, capped, order, begins, before, limits.exit_pitch_ratio)

    def _backwards(self, sines: Sines) -> _Run:
        """From the exit to the entry, the last rod of which is straight."""
        limits = self._limits
        parts = self._parts[::-1].copy()
        parts[self._count - int(limits.straight_run_m / self._step_m) :] = 0.0
        high, low = _begun(sines[0], limits.exit_elevation_m, _mirrored(limits.exit_pitch_ratio))
        none = np.zeros(1, dtype=np.int64)
        capped = (np.zeros(len(high)), np.zeros(len(high)))
        order, begins, before = self._order(limits.length_m - self._stations_m)
        last = _mirrored(limits.entry_pitch_ratio)
        return _Run(sines, parts, (none, none, high[None], low[None]), capped, order, begins, before, last)

    def _sines(self, pitch: Range, *, is_back: bool) -> Sines:
        """Nodes a whole turn of a step apart, one of them at the greater end of a pitch."""
        turn = self._step_m / self._limits.bend_radius_m
        greatest = _sine(-pitch.least if is_back else pitch.greatest)
        anchor = min(self._steepest, max(-self._steepest, greatest))
        below = int(np.ceil((anchor + self._steepest) / turn - 1e-9))
        above = max(1 - below, int(np.ceil((self._steepest - anchor) / turn - 1e-9)))
        nodes = np.asarray(anchor + turn * np.arange(-below, above + 1), dtype=float)
        return nodes, turn, self._steepest

    def _straight(self, nodes: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The most and the least that a straight step rises, by the pitches of the entry."""
        pitch, steep = self._limits.entry_pitch_ratio, self._steepest
        least, greatest = np.clip([_sine(pitch.least), _sine(pitch.greatest)], -steep, steep)
        most, fewest = np.clip(nodes, -steep, greatest), np.clip(nodes, least, steep)
        return (
            self._step_m * most / np.sqrt(1.0 - most**2),
            self._step_m * fewest / np.sqrt(1.0 - fewest**2),
        )

    def _begins(self, nodes: FloatArray, capped: tuple[FloatArray, FloatArray]) -> Begins:
        """Where a way may begin: at one place, or up to a step behind a station of the grid in a stretch."""
        limits, stretch = self._limits, self._entry_m
        last = int(np.ceil((stretch.greatest - stretch.least) / self._step_m - 1e-9))
        straight, highs, lows = [], [], []
        for station in range(last + 1):
            at = stretch.least + station * self._step_m
            behind = self._step_m if station else 0.0
            inner = limits.ground.stations_m
            places = [at - behind, at, *inner[(inner > at - behind) & (inner < at)].tolist()]
            entries = [limits.entry_elevation_m(place) for place in places]
            entry = Range(min(one.least for one in entries), max(one.greatest for one in entries))
            high, low = _begun(nodes, entry, limits.entry_pitch_ratio)
            highs.append(high + (np.maximum(0.0, capped[0]) if station else 0.0))
            lows.append(low + (np.minimum(0.0, capped[1]) if station else 0.0))
            straight.append(max(0, int((limits.straight_run_m - behind) / self._step_m)))
        return np.arange(last + 1), np.array(straight), np.array(highs), np.array(lows)

    def _order(self, along_m: FloatArray) -> tuple[np.ndarray, np.ndarray, FloatArray]:
        """Of what is asked along a run: the order, where each station begins, how far before it each lies."""
        grid = np.clip(np.ceil(along_m / self._step_m - 1e-7).astype(np.int64), 0, self._count)
        order = np.argsort(grid, kind="stable")
        before = np.maximum(0.0, grid * self._step_m - along_m)
        before[before < 1e-7] = 0.0
        return order, np.searchsorted(grid[order], np.arange(self._count + 2)), before[order]

    def _kept(self, stations: np.ndarray, nodes: int) -> Kept:
        """Room for the parts at some stations."""
        rows = np.full(self._count + 1, -1)
        rows[stations] = np.arange(len(stations))
        shape = (len(stations), MOST_PARTS, nodes)
        return rows, np.zeros(len(stations), dtype=np.int64), np.empty(shape), np.empty(shape)


def _sine(pitch_ratio: float) -> float:
    return float(pitch_ratio / np.sqrt(1.0 + pitch_ratio**2))


def _mirrored(pitch: Range) -> Range:
    return Range(-pitch.greatest, -pitch.least)


def _mixed(low: FloatArray, high: FloatArray, part: float) -> FloatArray:
    """Between two edges; one that is only there at the larger margin is met as it lies there."""
    is_both = (np.abs(low) < NOTHING_M) & (np.abs(high) < NOTHING_M)
    return np.where(is_both, (1.0 - part) * low + part * high, high)


def _begun(nodes: FloatArray, elevations_m: Range, pitch: Range) -> tuple[FloatArray, FloatArray]:
    """The highest elevation with a pitch or less, and the lowest with it or more, where ways begin."""
    high = np.where(nodes >= _sine(pitch.least) - 1e-12, elevations_m.greatest, -NOTHING_M)
    low = np.where(nodes <= _sine(pitch.greatest) + 1e-12, elevations_m.least, NOTHING_M)
    return high, low
