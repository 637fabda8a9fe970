"""Proofs that no profile keeps a set of demands, by a model that every drillable profile satisfies.

The model has the sine u of the pitch, averaged over each cell of a grid of stations, and the elevation z at
its joints. Along an arc of radius R the sine changes by 1/R a metre of station exactly (d sin a = cos a da,
and dx = cos a ds), so the averages of two cells beside each other differ by at most one cell's length over R.
The elevation gained in a cell is the integral of f(u) = u / sqrt(1 - u^2); by Jensen's inequality it lies
between the cell's length times the convex function below f and the concave one above, both at the average. A
chord misses its profile by at most c dx^2 / 8 with c = (1 + p^2)^1.5 / R at the steepest pitch p. So what
this model cannot do, nothing can; what it can do, a profile may still fail to do.
"""

from collections.abc import Collection, Sequence
from enum import StrEnum

import numpy as np

from conflicts.engine.profile_limits import FAR_M, Obstacle, ProfileLimits, Range
from conflicts.engine.profile_programme import Programme, sampled
from conflicts.engine.profile_samples import telling
from conflicts.engine.profile_ways import Ways

# Longest cell of the grid, m, and the most of them.
CELL_M = 1.0
MOST_CELLS = 320
# Where the concave function above f is met: parts of the way from the steepest sine to its last tangent.
TANGENTS = (0.0, 0.35, 0.7, 1.0)
# No pitch of any profile is steeper than this sine, whatever is demanded.
STEEPEST_SINE = float(np.sin(np.radians(45.0)))
# A proof's figures are good to this, m: a demand broken by less is not called broken.
SURE_M = 1e-5


class Demand(StrEnum):
    """What can be asked of a profile besides missing its lines."""

    ENTRY_DEPTH = "entry_depth"
    ENTRY_PITCH = "entry_pitch"
    EXIT_DEPTH = "exit_depth"
    EXIT_PITCH = "exit_pitch"
    BEND_RADIUS = "bend_radius"
    STEEPEST_PITCH = "steepest_pitch"
    COVER = "cover"
    GREATEST_DEPTH = "greatest_depth"
    ALIGNMENT = "alignment"


def is_impossible(limits: ProfileLimits, obstacles: Sequence[Obstacle], margin_m: float = 0.0) -> bool:
    """Whether it is proven that no profile keeps the limits and a margin to every obstacle.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    margin_m : float

    Raises
    ------
    SearchError
        The solver gave neither an answer nor a proof.
    """
    if limits.too_sharp is not None:
        return True
    ways = Ways(limits, obstacles, telling(limits, obstacles), limits.entry_station_m, is_sure=True)
    if not ways.is_open(margin_m):
        return True
    model = OuterModel(limits, obstacles, margin_m)
    return model.broken(range(model.count_of_demands)) is None


class OuterModel:
    """The model with a column for each demand that says whether it is given up.

    A profile that enters anywhere in the stretch where the rig may stand is carried straight back to its
    beginning, which bends nothing; so the grid begins there, and lines beside the stretch are left out.
    """

    def __init__(self, limits: ProfileLimits, obstacles: Sequence[Obstacle], margin_m: float = 0.0) -> None:
        self.limits, self.obstacles = limits, obstacles
        self.first_m = limits.entry_station_m.least
        run_m = limits.length_m - self.first_m
        self.count = min(MOST_CELLS, max(8, int(np.ceil(run_m / min(CELL_M, 0.3 * limits.rod_length_m)))))
        self.cell_m = run_m / self.count
        self.joints_m = np.linspace(self.first_m, limits.length_m, self.count + 1)
        self.count_of_demands = len(Demand) + len(obstacles)
        self.given_up = 2 * self.count + 1
        self.sides = self.given_up + self.count_of_demands
        self.programme = Programme(self.sides + len(obstacles))
        for column in range(self.given_up, self.sides):
            self.programme.choose(column)
            self.programme.cost[column] = 1.0
        self._ask_sines()
        self._ask_elevations()
        self._ask_heights()
        for number, obstacle in enumerate(obstacles):
            self._ask_obstacle(number, obstacle, margin_m)

    def broken(self, kept: Collection[int]) -> frozenset[int] | None:
        """The fewest demands to give up so that those kept all hold; None where they cannot.

        Demands are numbered as `Demand` has them, then the obstacles in their order.
        """
        upper = self.programme.upper.copy()
        for number in kept:
            self.programme.upper[self.given_up + number] = 0.0
        try:
            found = self.programme.solve()
        finally:
            self.programme.upper = upper
        if found is None:
            return None
        return frozenset(np.flatnonzero(found[self.given_up : self.sides] > 0.5).tolist())

    def _loose(self, *demands: Demand) -> list[int]:
        """Columns that say whether demands are given up."""
        order = list(Demand)
        return [self.given_up + order.index(demand) for demand in demands]

    def _ask(self, terms: dict[int, float], wanted: Range, spare: float, loose: list[int]) -> None:
        """A sum that must lie in a range, or a spare farther out for each demand of its that is given up."""
        self.programme.ask({**terms, **dict.fromkeys(loose, spare)}, wanted.least, np.inf)
        self.programme.ask({**terms, **dict.fromkeys(loose, -spare)}, -np.inf, wanted.greatest)

    def _ask_sines(self) -> None:
        """How the sine changes from cell to cell, how steep it is, and where it begins and ends."""
        limits, programme, first = self.limits, self.programme, self.count + 1
        turned = self.cell_m / limits.bend_radius_m
        steepest = _sine(limits.steepest_pitch_ratio)
        bend = self._loose(Demand.BEND_RADIUS)
        for index in range(self.count):
            programme.bound(first + index, -STEEPEST_SINE, STEEPEST_SINE)
            steep = self._loose(Demand.STEEPEST_PITCH)
            self._ask({first + index: 1.0}, Range(-steepest, steepest), STEEPEST_SINE, steep)
        straight = int(limits.straight_run_m / self.cell_m)
        for index in range(1, self.count):
            most = 0.0 if index < straight else turned
            terms = {first + index: 1.0, first + index - 1: -1.0}
            self._ask(terms, Range(-most, most), 2.0 * STEEPEST_SINE, bend)
        for cell, pitch, demand, is_turned in (
            (0, limits.entry_pitch_ratio, Demand.ENTRY_PITCH, straight < 1),
            (self.count - 1, limits.exit_pitch_ratio, Demand.EXIT_PITCH, True),
        ):
            most = 0.5 * turned if is_turned else 0.0
            wanted = Range(_sine(pitch.least) - most, _sine(pitch.greatest) + most)
            self._ask({first + cell: 1.0}, wanted, 2.0 * STEEPEST_SINE, [*self._loose(demand), *bend])

    def _ask_elevations(self) -> None:
        """The elevation gained in each cell, between the functions beside f."""
        steepest = min(STEEPEST_SINE, _sine(self.limits.steepest_pitch_ratio))
        loose = self._loose(Demand.STEEPEST_PITCH)
        above = _upper_lines(steepest)
        for index in range(self.count):
            gained = {index + 1: 1.0, index: -1.0}
            for slope, offset in above:
                # f is odd: what lies above it at u lies below it at -u.
                terms = {**gained, self.count + 1 + index: -slope * self.cell_m}
                most = offset * self.cell_m
                spare = dict.fromkeys(loose, 3.0 * self.cell_m)
                self.programme.ask({**terms, **{k: -v for k, v in spare.items()}}, -np.inf, most)
                self.programme.ask({**terms, **spare}, -most, np.inf)

    def _ask_heights(self) -> None:
        """Ground, cover and greatest depth at the joints, and the elevations of the ends."""
        limits, last = self.limits, self.count
        ground = limits.ground.at(self.joints_m)
        highest, lowest = limits.highest_m(self.joints_m), limits.lowest_m(self.joints_m)
        stretch = limits.entry_station_m
        cover, deep = self._loose(Demand.COVER)[0], self._loose(Demand.GREATEST_DEPTH)[0]
        for index, station in enumerate(self.joints_m):
            self.programme.bound(index, float(ground[index]) - FAR_M, np.inf)
            if index == last:
                self.programme.bound(index, -np.inf, float(ground[index]) + SURE_M)
            elif station > stretch.greatest:
                top, spare = float(highest[index]), float(ground[index] - highest[index])
                self.programme.ask({index: 1.0, cover: -spare}, -np.inf, top + SURE_M)
                self.programme.ask({index: 1.0, deep: FAR_M}, float(lowest[index]) - SURE_M, np.inf)
        self._ask({last: 1.0}, limits.exit_elevation_m, FAR_M, self._loose(Demand.EXIT_DEPTH))
        self._ask({0: 1.0}, self._carried_back(), FAR_M, self._loose(Demand.ENTRY_DEPTH))

    def _carried_back(self) -> Range:
        """Elevations at the beginning of the grid of profiles that enter anywhere in the rig's stretch."""
        limits = self.limits
        low, high = limits.entry_station_m.least, limits.entry_station_m.greatest
        inner = limits.ground.stations_m
        places = np.concatenate([[low, high], inner[(inner > low) & (inner < high)]])
        pitch = limits.entry_pitch_ratio
        least, greatest = np.inf, -np.inf
        for place in places:
            entry, back = limits.entry_elevation_m(float(place)), place - low
            least = min(least, entry.least - back * pitch.greatest)
            greatest = max(greatest, entry.greatest - back * pitch.least)
        return Range(float(least), float(greatest))

    def _ask_obstacle(self, number: int, obstacle: Obstacle, margin_m: float) -> None:
        """A side for an obstacle: all over it or all under it."""
        side, limits = self.sides + number, self.limits
        given_up = self.given_up + len(Demand) + number
        # Where bends are given up a profile may lie half a cell beside its chord, at 45 degrees.
        beside = dict.fromkeys(self._loose(Demand.BEND_RADIUS, Demand.STEEPEST_PITCH), 0.5 * self.cell_m)
        self.programme.choose(side)
        if obstacle.from_m < limits.entry_station_m.greatest:
            return
        miss = SURE_M + self._chord_miss_m()
        stations = sampled(obstacle, self.first_m, limits.length_m)
        lower, upper = obstacle.edges_m(stations, margin_m)
        ground = limits.ground.at(stations)
        for station, low, high, top in zip(stations, lower, upper, ground, strict=True):
            if np.isnan(low):
                continue
            place = min(int((station - self.first_m) / self.cell_m), self.count - 1)
            part = (station - self.joints_m[place]) / self.cell_m
            terms = {place: 1.0 - part, place + 1: part}
            # Given up, or on the other side, an edge asks for nothing that ground and depth do not.
            over, under = max(0.0, high - top) + FAR_M + 1.0, max(0.0, top - low) + 1.0
            self.programme.ask({**terms, **beside, side: over, given_up: over}, high - miss, np.inf)
            spare = {column: -by for column, by in beside.items()}
            self.programme.ask({**terms, **spare, side: under, given_up: -under}, -np.inf, low + miss + under)

    def _chord_miss_m(self) -> float:
        """The most that a profile lies beside the chord of a cell."""
        steepest = self.limits.steepest_pitch_ratio
        bend = (1.0 + steepest**2) ** 1.5 / self.limits.bend_radius_m
        return float(bend * self.cell_m**2 / 8.0)


def _sine(pitch_ratio: float) -> float:
    return float(pitch_ratio / np.sqrt(1.0 + pitch_ratio**2))


def _upper_lines(steepest: float) -> list[tuple[float, float]]:
    """Lines above f(u) = u / sqrt(1 - u^2) for |u| up to the steepest sine: slopes and values at 0.

    The concave function above f is f itself up to where the tangent goes through f at the steepest sine, then
    that tangent; each line here is a tangent of f there, or that last one, so each lies above f.
    """
    end = float(_rise(steepest))
    low, high = -steepest, 0.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        # Past the place that is looked for, the tangent passes below f at the steepest sine.
        if _rise(middle) + _steepness(middle) * (steepest - middle) > end:
            low = middle
        else:
            high = middle
    touched = low
    lines = []
    for part in TANGENTS:
        at = -steepest + part * (touched + steepest)
        slope = _steepness(at)
        lines.append((slope, _rise(at) - slope * at))
    return lines


def _rise(sine: float) -> float:
    return sine / float(np.sqrt(1.0 - sine * sine))


def _steepness(sine: float) -> float:
    return float((1.0 - sine * sine) ** -1.5)
