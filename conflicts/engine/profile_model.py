"""A profile to begin with on given sides of the lines: a linear programme in elevation and slope by rod.

Its parabolas bend less than the rig allows (|z''| <= 1/R, while the curvature is |z''| / (1 + z'^2)^1.5), so
what it finds can be drilled, but for the rods' own joints, which `profile_refine` places.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.linear_solver import LinearSolver
from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_samples import Telling

# What a margin given up must buy: the shortest profile within it, m.
GIVEN_UP_M = 1e-3
# A turn of one radian is worth so much length, m: between profiles as long, the straighter.
TURN_COST_M = 4.0
# A slope is cut into parts as long as this, so many either way, each of which lengthens the path by what it
# does in its middle; the last one goes on.
PART_RATIO, PARTS = 0.08, 5
# What is lacking of a margin at most, m.
LEAST_MARGIN_M = -5.0


@dataclass(frozen=True, eq=False)
class Slopes:
    """What a model found.

    Attributes
    ----------
    entry_station_m, margin_m : float
    slopes_ratio, elevations_m : (n + 1,) float arrays
        At even stations from the entry to the exit.
    """

    entry_station_m: float
    margin_m: float
    slopes_ratio: FloatArray
    elevations_m: FloatArray


def slopes_on_sides(
    limits: ProfileLimits,
    obstacles: Sequence[Obstacle],
    telling: Sequence[Telling],
    passes_under: np.ndarray,
    entry_station_m: float,
    about_m: float,
    bend_ratio: float = 1.0,
    *,
    is_shortest: bool = True,
) -> Slopes | None:
    """The slopes with the largest least margin on given sides; None where none fit.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    telling : sequence of Telling
        Where each obstacle is asked about.
    passes_under : (k,) bool array
    entry_station_m : float
        Where the rig stands.
    about_m : float
        Margin about which the obstacles' edges are taken as linear.
    bend_ratio : float
        What the bend allowed is multiplied by: above 1 the model is no longer safe, and only begins a search.
    is_shortest : bool
        Whether the shortest, then straightest such slopes are meant, or any.
    """
    model = _Model(limits, entry_station_m, bend_ratio, has_length=is_shortest)
    for obstacle, told, is_under in zip(obstacles, telling, passes_under, strict=True):
        model.ask_side(obstacle, told.on_side(is_under=is_under), about_m, is_under=is_under)
    widest = model.widest()
    return widest if widest is None or not is_shortest else model.shortest(widest)


class _Model:
    """Elevations and slopes at every rod, the margin, and what each rod turns up and down.

    Where the length counts, also the parts of each slope, up and down.
    """

    def __init__(
        self, limits: ProfileLimits, entry_station_m: float, bend_ratio: float, *, has_length: bool
    ) -> None:
        self.limits, self.entry_m = limits, entry_station_m
        run_m = limits.length_m - entry_station_m
        self.count = max(2, int(np.ceil(run_m / limits.rod_length_m)))
        self.cell_m = run_m / self.count
        self.stations_m = np.linspace(entry_station_m, limits.length_m, self.count + 1)
        self.margin = 2 * (self.count + 1)
        self.parts = self.margin + 1 + 2 * self.count
        columns = self.parts + (2 * PARTS * (self.count + 1) if has_length else 0)
        self.lower, self.upper = np.full(columns, -np.inf), np.full(columns, np.inf)
        self._triplets: list[tuple[np.ndarray, np.ndarray, FloatArray]] = []
        self._least: list[FloatArray] = []
        self._most: list[FloatArray] = []
        self._rows = 0
        self._solver = LinearSolver()
        self._solver.setOptionValue("presolve", "off")
        self._ask_path(bend_ratio)
        if has_length:
            self._ask_parts()

    def _ask(
        self,
        least: FloatArray | float,
        most: FloatArray | float,
        *terms: tuple[np.ndarray | int, FloatArray | float],
        count: int,
    ) -> None:
        """So many rows: a term is a column for each, and its factors."""
        index = self._rows + np.arange(count)
        for column, factor in terms:
            self._triplets.append((index, _each(column, count), _each(factor, count)))
        self._least.append(_each(least, count))
        self._most.append(_each(most, count))
        self._rows += count

    def _ask_path(self, bend_ratio: float) -> None:
        """Elevations and slopes of a path that bends within the limits, its first rod straight."""
        limits, cell, count = self.limits, self.cell_m, self.count
        level = limits.level_turns_rad(self.stations_m[:-1], self.stations_m[1:])
        allowed = np.maximum(0.0, limits.turns_left_rad(np.full(count, cell), level)) * bend_ratio
        allowed[0] = 0.0
        rod = np.arange(count)
        here, on, up = count + 1 + rod, count + 2 + rod, self.margin + 1 + rod
        self._ask(0.0, 0.0, (rod + 1, 1.0), (rod, -1.0), (here, -0.5 * cell), (on, -0.5 * cell), count=count)
        self._ask(0.0, 0.0, (on, 1.0), (here, -1.0), (up, -1.0), (up + count, 1.0), count=count)
        self.lower[up], self.lower[up + count] = 0.0, 0.0
        self.upper[up], self.upper[up + count] = allowed, allowed
        steepest = limits.steepest_pitch_ratio
        self.lower[1:count] = limits.lowest_m(self.stations_m)[1:-1]
        self.upper[1:count] = self._highest()[1:-1]
        slopes = slice(count + 1, self.margin)
        self.lower[slopes], self.upper[slopes] = -steepest, steepest
        for column, wanted in (
            (0, limits.entry_elevation_m(self.entry_m)),
            (count, limits.exit_elevation_m),
            (count + 1, limits.entry_pitch_ratio),
            (2 * count + 1, limits.exit_pitch_ratio),
        ):
            self.lower[column] = max(self.lower[column], wanted.least)
            self.upper[column] = min(self.upper[column], wanted.greatest)

    def _ask_parts(self) -> None:
        """Each slope is what its parts up are together, less its parts down."""
        count = self.count + 1
        joint = np.arange(count)
        up = [self.parts + part * count + joint for part in range(PARTS)]
        down = [one + PARTS * count for one in up]
        terms = [(column, 1.0) for column in up] + [(column, -1.0) for column in down]
        self._ask(0.0, 0.0, (self.count + 1 + joint, -1.0), *terms, count=count)
        self.lower[self.parts :] = 0.0
        self.upper[self.parts :] = PART_RATIO
        self.upper[up[-1]], self.upper[down[-1]] = np.inf, np.inf

    def _highest(self) -> FloatArray:
        """The highest allowed at the joints and half-way to the next, so that a rod has it all along."""
        half = 0.5 * self.cell_m
        beside = [self.limits.highest_m(self.stations_m + shift) for shift in (-half, 0.0, half)]
        return np.asarray(np.min(beside, axis=0), dtype=float)

    def ask_side(self, obstacle: Obstacle, asked_m: FloatArray, about_m: float, *, is_under: bool) -> None:
        """Ask a margin under an obstacle, or over it."""
        stations = asked_m[(asked_m >= self.entry_m) & (asked_m <= self.limits.length_m)]
        edges, rates = obstacle.tangent_m(stations, about_m, is_under=is_under)
        is_there = ~np.isnan(edges)
        stations, edges, rates = stations[is_there], edges[is_there], rates[is_there]
        # The elevation at a station is that of the parabola between the joints.
        place = np.minimum(((stations - self.entry_m) / self.cell_m).astype(np.int64), self.count - 1)
        into = stations - self.entry_m - place * self.cell_m
        bent = into * into / (2.0 * self.cell_m)
        self._ask(
            -np.inf if is_under else edges,
            edges if is_under else np.inf,
            (place, 1.0),
            (self.count + 1 + place, into - bent),
            (self.count + 2 + place, bent),
            (self.margin, rates if is_under else -rates),
            count=len(stations),
        )

    def widest(self) -> Slopes | None:
        """The largest least margin."""
        self.lower[self.margin], self.upper[self.margin] = LEAST_MARGIN_M, self.limits.enough_margin_m
        cost = np.zeros(len(self.lower))
        cost[self.margin] = -1.0
        return self._solved(cost)

    def shortest(self, widest: Slopes) -> Slopes:
        """The shortest, then straightest path, a hair of the margin given up."""
        self.lower[self.margin], self.upper[self.margin] = widest.margin_m - GIVEN_UP_M, np.inf
        cost = np.zeros(len(self.lower))
        cost[self.margin + 1 : self.parts] = TURN_COST_M
        middles = PART_RATIO * (np.arange(PARTS) + 0.5)
        # The change of sqrt(1 + p^2) with p.
        longer = self.cell_m * middles / np.sqrt(1.0 + middles**2)
        cost[self.parts :] = np.tile(np.repeat(longer, self.count + 1), 2)
        return self._solved(cost) or widest

    def _solved(self, cost: FloatArray) -> Slopes | None:
        """The slopes of least cost, from where the model was solved last."""
        if (self.lower > self.upper).any():
            return None
        is_begun, basis = self._solver.getNumCol() > 0, self._solver.getBasis()
        rows, columns, factors = (np.concatenate(one) for one in zip(*self._triplets, strict=True))
        order = np.argsort(rows, kind="stable")
        begins = np.searchsorted(rows[order], np.arange(self._rows + 1))
        self._solver.take(
            cost,
            (self.lower, self.upper),
            (begins.astype(np.int32), columns[order].astype(np.int32), factors[order]),
            (np.concatenate(self._least), np.concatenate(self._most)),
        )
        if is_begun:
            self._solver.setBasis(basis)
        found = self._solver.solved()
        if found is None:
            return None
        return Slopes(
            self.entry_m,
            float(found[self.margin]),
            found[self.count + 1 : self.margin],
            found[: self.count + 1],
        )


def _each(one: np.ndarray | float, count: int) -> np.ndarray:
    """The same for so many rows, or what each has."""
    return one if isinstance(one, np.ndarray) else np.full(count, one)
