"""A profile to begin with on given sides of the lines: a linear programme in elevation and slope by rod.

Its parabolas bend less than the rig allows (|z''| <= 1/R, while the curvature is |z''| / (1 + z'^2)^1.5), so
what it finds can be drilled, but for the rods' own joints, which `profile_refine` places.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_programme import Programme
from conflicts.engine.profile_samples import Telling

# What a margin given up must buy: the shortest profile within it, m.
GIVEN_UP_M = 1e-3
# A turn of one radian is worth so much length, m: between profiles as long, the straighter.
TURN_COST_M = 4.0
# Slopes at which the length of a path is met exactly; between them it is taken as a little less.
TANGENTS_RATIO = (0.04, 0.12, 0.2, 0.28, 0.36)
# What is lacking of a margin at most, m.
LEAST_MARGIN_M = -5.0
# Margins between which an edge's change a metre of margin is taken, m.
RATE_STEP_M = 0.02


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
    model = _Model(limits, entry_station_m, bend_ratio)
    for obstacle, told, is_under in zip(obstacles, telling, passes_under, strict=True):
        model.ask_side(obstacle, told.on_side(is_under=is_under), about_m, is_under=is_under)
    widest = model.widest()
    return widest if widest is None or not is_shortest else model.shortest(widest)


class _Model:
    """Elevations and slopes at every rod, and the margin."""

    def __init__(self, limits: ProfileLimits, entry_station_m: float, bend_ratio: float) -> None:
        self.limits, self.entry_m = limits, entry_station_m
        run_m = limits.length_m - entry_station_m
        self.count = max(2, int(np.ceil(run_m / limits.rod_length_m)))
        self.cell_m = run_m / self.count
        self.stations_m = np.linspace(entry_station_m, limits.length_m, self.count + 1)
        self.margin = 2 * (self.count + 1)
        # Then what each rod turns, either way, and how much longer than its run it is.
        self.turns = range(self.margin + 1, self.margin + 1 + self.count)
        self.longer = range(self.turns.stop, self.turns.stop + self.count + 1)
        self.programme = Programme(self.longer.stop)
        self._ask_path(bend_ratio)

    def _ask_path(self, bend_ratio: float) -> None:
        """Elevations and slopes of a path that bends within the limits, its first rod straight."""
        limits, programme, cell, count = self.limits, self.programme, self.cell_m, self.count
        level = limits.level_turns_rad(self.stations_m[:-1], self.stations_m[1:])
        allowed = np.maximum(0.0, limits.turns_left_rad(np.full(count, cell), level)) * bend_ratio
        allowed[0] = 0.0
        for index in range(count):
            here, on = count + 1 + index, count + 2 + index
            programme.ask({index + 1: 1.0, index: -1.0, here: -0.5 * cell, on: -0.5 * cell}, 0.0, 0.0)
            programme.ask({on: 1.0, here: -1.0}, -allowed[index], allowed[index])
        steepest = limits.steepest_pitch_ratio
        lowest, highest = limits.lowest_m(self.stations_m), self._highest()
        for index in range(count + 1):
            if 0 < index < count:
                programme.bound(index, float(lowest[index]), float(highest[index]))
            programme.bound(count + 1 + index, -steepest, steepest)
        for column, wanted in (
            (0, limits.entry_elevation_m(self.entry_m)),
            (count, limits.exit_elevation_m),
            (count + 1, limits.entry_pitch_ratio),
            (2 * count + 1, limits.exit_pitch_ratio),
        ):
            programme.bound(column, wanted.least, wanted.greatest)

    def _highest(self) -> FloatArray:
        """The highest allowed at the joints and half-way to the next, so that a rod has it all along."""
        half = 0.5 * self.cell_m
        beside = [self.limits.highest_m(self.stations_m + shift) for shift in (-half, 0.0, half)]
        return np.asarray(np.min(beside, axis=0), dtype=float)

    def ask_side(self, obstacle: Obstacle, asked_m: FloatArray, about_m: float, *, is_under: bool) -> None:
        """Ask a margin under an obstacle, or over it."""
        stations = asked_m[(asked_m >= self.entry_m) & (asked_m <= self.limits.length_m)]
        edges = edges_about(obstacle, stations, about_m, RATE_STEP_M)
        for station, (low, low_by, high, high_by) in zip(stations.tolist(), edges.tolist(), strict=True):
            if np.isnan(low):
                continue
            terms = self._elevation(station)
            if is_under:
                self.programme.ask({**terms, self.margin: low_by}, -np.inf, low)
            else:
                self.programme.ask({**terms, self.margin: -high_by}, high, np.inf)

    def _elevation(self, station_m: float) -> dict[int, float]:
        """The elevation at a station as a sum of columns: parabolas between the joints."""
        place = min(int((station_m - self.entry_m) / self.cell_m), self.count - 1)
        into = station_m - self.entry_m - place * self.cell_m
        bent = into * into / (2.0 * self.cell_m)
        return {place: 1.0, self.count + 1 + place: into - bent, self.count + 2 + place: bent}

    def widest(self) -> Slopes | None:
        """The largest least margin."""
        self.programme.bound(self.margin, LEAST_MARGIN_M, self.limits.enough_margin_m)
        self.programme.cost[self.margin] = -1.0
        return self._solved()

    def shortest(self, widest: Slopes) -> Slopes:
        """The shortest, then straightest path, a hair of the margin given up."""
        programme = self.programme
        programme.bound(self.margin, widest.margin_m - GIVEN_UP_M, np.inf)
        programme.cost[:] = 0.0
        for index, column in enumerate(self.turns):
            here, on = self.count + 1 + index, self.count + 2 + index
            programme.ask({column: 1.0, on: -1.0, here: 1.0}, 0.0, np.inf)
            programme.ask({column: 1.0, on: 1.0, here: -1.0}, 0.0, np.inf)
            programme.cost[column] = TURN_COST_M
        for index, column in enumerate(self.longer):
            slope = self.count + 1 + index
            programme.lower[column] = 0.0
            for at in TANGENTS_RATIO:
                # sqrt(1 + p^2) - 1 is nowhere below its tangents.
                length = np.sqrt(1.0 + at * at)
                for sign in (1.0, -1.0):
                    programme.ask(
                        {column: 1.0, slope: -sign * at / length}, length - at * at / length - 1.0, np.inf
                    )
            programme.cost[column] = self.cell_m
        return self._solved() or widest

    def _solved(self) -> Slopes | None:
        found = self.programme.solve()
        if found is None:
            return None
        return Slopes(
            self.entry_m,
            float(found[self.margin]),
            found[self.count + 1 : self.margin],
            found[: self.count + 1],
        )


def edges_about(obstacle: Obstacle, stations_m: FloatArray, about_m: float, step_m: float) -> FloatArray:
    """An obstacle's edges as linear in the margin, along the tangent at a margin.

    Parameters
    ----------
    obstacle : Obstacle
    stations_m : (n,) float array
    about_m, step_m : float
        The margin, and how far from it the change is taken.

    Returns
    -------
    (n, 4) float array
        For each station the lower edge at a margin of 0 and how far it sinks a metre of margin, the upper
        edge and how far it rises; NaN where every elevation has the margin.
    """
    lower, upper = obstacle.edges_m(stations_m, about_m)
    lower_on, upper_on = obstacle.edges_m(stations_m, about_m + step_m)
    # An edge that is only there at the larger margin is met as it lies there.
    lower, upper = (np.where(np.isnan(a), b, a) for a, b in ((lower, lower_on), (upper, upper_on)))
    low_by, high_by = (lower - lower_on) / step_m, (upper_on - upper) / step_m
    return np.column_stack([lower + low_by * about_m, low_by, upper - high_by * about_m, high_by])
