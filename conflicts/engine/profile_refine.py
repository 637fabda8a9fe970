"""From the slopes of a model to exact rods: arcs at the joints, moved until the least margin is largest.

Each step takes the arcs' places and the obstacles' edges as linear about the profile at hand, solves that,
and goes there; steps that do not help are taken shorter. What is given out is measured on the arcs.
"""

from collections.abc import Sequence

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.profile_edges import Edges
from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_measure import SLACK_M, Gauge, Measured, inner_stations
from conflicts.engine.profile_model import LEAST_MARGIN_M, TURN_COST_M, Slopes
from conflicts.engine.profile_rows import Columns, rows_about
from conflicts.engine.profile_samples import Telling
from conflicts.engine.profile_successive import Successive

# A last rod may be as short as this, m.
SHORTEST_ROD_M = 0.01
FIRST_STEP_RAD = 0.016
LONGEST_STEP_RAD = 0.064
FIRST_SHORTENING_RAD = 0.002
SHORTEST_STEP_RAD = 1e-5
# How far the rig is moved in one step, m a radian of step: half a rod or so in a long one.
RIG_STEP_M = 50.0
MOST_STEPS = 30
# So many more, no longer than this, may bring a profile back within its limits.
MOST_MENDINGS, MENDING_RAD = 6, 0.002
# Steps to a shorter profile, of which the first ones gain nearly all.
MOST_SHORTENINGS = 6
# The same where a profile is refined a second time, with the gain of a step that is the last, m.
MOST_PATIENT_STEPS, PATIENCE_M = 30, 1e-4
# A step that gains less is the last, m of margin, and m of length and bends.
ENOUGH_M = 2e-4
ENOUGH_SHORTER_M = 2e-2
# A step that promises less than this part of that is not taken; of a shorter one than the first, the less.
ENOUGH_PROMISED = 0.5
# Margin given up so that the profile can be made shorter and straighter, m.
GIVEN_UP_M = 5e-4
MOVE_COST = 1e-3
# What an excess costs beside a metre of margin, so that keeping the limits comes first.
EXCESS_COST = 1e3
# What it costs when a step is judged: more than any margin that it could buy, little enough not to stop steps
# for what the next one mends. A height between the ends buys little, a turn or an end more by this.
EXCESS_WORTH, ENDS_EXCESS_WORTH = 1.5, 8.5
# An edge that weighs less holds nothing.
LEAST_WEIGHT = 1e-7
# How often a profile is brought to its exit after a step.
CLOSINGS = 2


def rods_along(limits: ProfileLimits, begin: Slopes) -> RodProfile:
    """Whole rods and a last, shorter one, with the slopes of a model at their joints.

    Parameters
    ----------
    limits : ProfileLimits
    begin : Slopes
    """
    slopes, first = begin.slopes_ratio, begin.entry_station_m
    stations = np.linspace(first, limits.length_m, len(slopes))
    angles, along = [float(np.arctan(slopes[0]))], first
    lengths = []
    while along < limits.length_m - 1e-9:
        angle = float(np.arctan(np.interp(along, stations, slopes)))
        step = min(limits.rod_length_m, (limits.length_m - along) / np.cos(angle))
        lengths.append(step)
        along += step * np.cos(angle)
        angles.append(float(np.arctan(np.interp(along, stations, slopes))))
    return RodProfile(first, float(begin.elevations_m[0]), np.array(lengths), np.array(angles))


def widest(
    limits: ProfileLimits,
    obstacles: Sequence[Obstacle],
    telling: Sequence[Telling],
    passes_under: np.ndarray,
    begin: RodProfile,
    *,
    is_patient: bool = False,
) -> tuple[Measured, np.ndarray]:
    """The profile with the largest least margin near one, on given sides of the obstacles.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    telling : sequence of Telling
        Where each obstacle is asked about to begin with.
    passes_under : (k,) bool array
    begin : RodProfile
    is_patient : bool
        Whether steps that gain little are gone on with.

    Returns
    -------
    Measured
        It breaks a limit only where no step mends that.
    (k,) bool array
        The obstacles that hold it there: on these sides of them alone it would come no farther.
    """
    climb = _Climb(limits, obstacles, telling, passes_under)
    return climb.from_(begin, None, is_patient=is_patient), climb.holding()


def shortest(
    limits: ProfileLimits,
    obstacles: Sequence[Obstacle],
    telling: Sequence[Telling],
    passes_under: np.ndarray,
    wide: Measured,
) -> Measured:
    """The shortest, then straightest profile near one, a hair of its margin given up.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    telling : sequence of Telling
        Where each obstacle is asked about to begin with.
    passes_under : (k,) bool array
    wide : Measured
        From `widest`; given back where nothing shorter keeps its margin and the limits.
    """
    kept = min(wide.margin_m, limits.enough_margin_m) - GIVEN_UP_M
    straight = _Climb(limits, obstacles, telling, passes_under).from_(wide.rods, kept)
    good = straight.keeps_limits and straight.margin_m >= kept - GIVEN_UP_M
    is_nearer = not wide.keeps_limits and straight.excess_m < wide.excess_m
    return straight if good or is_nearer else wide


class _Climb:
    """Steps up the margin, or with a margin kept, steps to a shorter and straighter profile."""

    def __init__(
        self,
        limits: ProfileLimits,
        obstacles: Sequence[Obstacle],
        telling: Sequence[Telling],
        passes_under: np.ndarray,
    ) -> None:
        self.limits, self.gauge = limits, Gauge(limits, obstacles)
        self.edges = Edges(limits, obstacles, telling, passes_under)
        self.programmes = Successive()
        first = limits.entry_station_m.least
        self.heights_m = inner_stations(limits, first, 0.5 * limits.rod_length_m)

    def _measured(self, rods: RodProfile) -> Measured:
        """A profile with its figures; where it comes nearest to each limit is asked about from now on."""
        found = self.gauge.measured(rods)
        self.edges.ask_at(found)
        if not np.isnan(found.outermost_at_m) and found.outermost_at_m not in self.heights_m:
            self.heights_m = np.append(self.heights_m, found.outermost_at_m)
        return found

    def from_(self, begin: RodProfile, kept_m: float | None, *, is_patient: bool = False) -> Measured:
        """The best profile that steps from one come to."""
        here = self._measured(self._closed(begin))
        first_step = FIRST_STEP_RAD if kept_m is None else FIRST_SHORTENING_RAD
        step = first_step
        worth, enough = self._worth(here, kept_m), ENOUGH_M if kept_m is None else ENOUGH_SHORTER_M
        most, within = MOST_STEPS if kept_m is None else MOST_SHORTENINGS, here
        if is_patient:
            enough, most = PATIENCE_M, MOST_PATIENT_STEPS
        for number in range(most + MOST_MENDINGS):
            is_mending = number >= most
            if is_mending and here.keeps_limits:
                break
            step = min(step, MENDING_RAD) if is_mending else step
            moved = self._moved(here, step, kept_m)
            promised = ENOUGH_PROMISED * enough * min(1.0, step / first_step)
            if moved is not None and moved[1] - worth < promised and here.keeps_limits:
                break
            there = None if moved is None else self._measured(self._closed(moved[0]))
            gained = -np.inf if there is None else self._worth(there, kept_m) - worth
            if there is not None and (gained > 0.0 or (is_mending and there.keeps_limits)):
                here, worth = there, worth + gained
                if here.keeps_limits and (
                    not within.keeps_limits or self._worth(within, kept_m) < self._worth(here, kept_m)
                ):
                    within = here
                step = min(2.0 * step, LONGEST_STEP_RAD)
            else:
                step *= 0.25
            if step < SHORTEST_STEP_RAD or (0.0 < gained < enough and here.keeps_limits):
                break
        return within if within.keeps_limits else here

    def holding(self) -> np.ndarray:
        """The obstacles whose edges held the last step, as a (k,) bool array; all where it is not known."""
        owners, weights = self.edges.owners, self.programmes.weights()
        if weights is None:
            return np.ones(self.edges.count, dtype=bool)
        weights = weights[: len(owners)]
        return np.bincount(owners, weights > LEAST_WEIGHT, minlength=self.edges.count) > 0

    def _worth(self, found: Measured, kept_m: float | None) -> float:
        """What a step is taken for: limits first, then the margin, or length and bends once that is kept."""
        if kept_m is None:
            lost = EXCESS_WORTH * found.excess_m + ENDS_EXCESS_WORTH * found.ends_excess_m
            return min(found.margin_m, self.limits.enough_margin_m) - lost
        lost = max(0.0, kept_m - SLACK_M - found.margin_m) + found.excess_m
        turned = float(np.abs(found.rods.turns_rad).sum())
        return -EXCESS_COST * lost - found.rods.length_m - TURN_COST_M * turned

    def _moved(
        self, here: Measured, step_rad: float, kept_m: float | None
    ) -> tuple[RodProfile, float] | None:
        """The best profile within a step, everything taken as linear, and what it would be worth.

        None where the solver gives none.
        """
        rods = here.rods
        columns = Columns(len(rods.lengths_m))
        edges = self.edges.about(here.margin_m)
        rows = rows_about(self.limits, edges, self.heights_m, here, is_moved=kept_m is None)
        cost = np.zeros(columns.count)
        cost[columns.excess] = EXCESS_COST
        if kept_m is None:
            # Of moves that gain as much, the smallest: a long one is less true.
            cost[columns.margin], cost[columns.counted :] = -1.0, MOVE_COST
        else:
            cost[columns.last_length], cost[columns.counted :] = 1.0, TURN_COST_M
        found = self.programmes.solve(cost, rows, self._bounds(rods, columns, step_rad, kept_m))
        if found is None:
            return None
        lengths = rods.lengths_m.copy()
        lengths[-1] += found[columns.last_length]
        moved = RodProfile(
            rods.entry_station_m + float(found[columns.stations]),
            rods.entry_elevation_m + float(found[columns.elevations]),
            lengths,
            rods.angles_rad + found[: columns.stations],
        )
        excess = float(found[columns.excess])
        if kept_m is None:
            return moved, float(found[columns.margin]) - EXCESS_WORTH * excess
        turned = float(found[columns.counted :].sum())
        return moved, -EXCESS_COST * excess - moved.length_m - TURN_COST_M * turned

    def _closed(self, rods: RodProfile) -> RodProfile:
        """A profile brought to its exit, which a long step misses by what is not linear in it.

        All angles are turned a little, most in the middle, so that no rod turns much more than it did; the
        last rod makes up the station.
        """
        limits, count = self.limits, len(rods.lengths_m)
        joint = np.arange(count + 1)
        # None at the first two joints, between which the rod is straight, and none at the exit.
        weights = np.maximum(0.0, (joint - 1.0) * (count - joint))
        if not weights.any():
            return rods
        for _ in range(CLOSINGS):
            stations, elevations = rods.joints_m()
            wanted = limits.exit_elevation_m
            low_m = float(np.clip(elevations[-1], wanted.least, wanted.greatest) - elevations[-1])
            runs = rods.lengths_m * np.cos(rods.angles_rad[1:])
            angles = rods.angles_rad + weights * low_m / float(weights[1:] @ runs)
            lengths = rods.lengths_m.copy()
            short_m = (limits.length_m - stations[-1]) / np.cos(angles[-1])
            lengths[-1] = np.clip(lengths[-1] + short_m, SHORTEST_ROD_M, limits.rod_length_m)
            rods = RodProfile(rods.entry_station_m, rods.entry_elevation_m, lengths, angles)
        return rods

    def _bounds(
        self, rods: RodProfile, columns: Columns, step_rad: float, kept_m: float | None
    ) -> FloatArray:
        """How far each column may go in one step, as (n, 2)."""
        limits = self.limits
        steepest = float(np.arctan(limits.steepest_pitch_ratio))
        least, greatest = np.full(columns.rods + 1, -steepest), np.full(columns.rods + 1, steepest)
        for joint, pitch in ((0, limits.entry_pitch_ratio), (-1, limits.exit_pitch_ratio)):
            least[joint] = max(-steepest, np.arctan(pitch.least))
            greatest[joint] = min(steepest, np.arctan(pitch.greatest))
        low, high = least - rods.angles_rad, greatest - rods.angles_rad
        bounds = np.full((columns.count, 2), np.inf)
        bounds[:, 0] = -np.inf
        # An angle outside its range goes back into it, however far that is.
        bounds[: columns.stations, 0] = np.minimum(np.maximum(-step_rad, low), high)
        bounds[: columns.stations, 1] = np.maximum(np.minimum(step_rad, high), low)
        last = float(rods.lengths_m[-1])
        bounds[columns.last_length] = SHORTEST_ROD_M - last, limits.rod_length_m - last
        stretch, at, far = limits.entry_station_m, rods.entry_station_m, RIG_STEP_M * step_rad
        bounds[columns.stations] = max(-far, stretch.least - at), min(far, stretch.greatest - at)
        most = limits.enough_margin_m
        bounds[columns.margin] = (LEAST_MARGIN_M, most) if kept_m is None else (kept_m, kept_m)
        bounds[columns.excess :, 0] = 0.0
        return bounds
