"""All that is asked along the run ahead, place by place, and from where it can be passed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.lookahead import LineAhead, Side
from conflicts.engine.reach import SAME_RUN_M, Head, LevelTurn, Rig, bends_left, bit_run_m
from conflicts.engine.steerable import sections_m

# Places at which no line asks for anything are so far apart, m.
STEP_M = 0.1
# What the elevations between two nodes of the pitch are off by at most, m.
CHORD_M = 1e-4
# A way that lacks less than this passes: what the method is sure to.
SLACK_M = 2e-4


@dataclass(frozen=True, eq=False)
class Ahead:
    """The head, what the rig can do, where the way ahead turns in plan, and what is to be held to spare.

    Attributes
    ----------
    head : Head
    rig : Rig
    level_turns : tuple of LevelTurn
    spare_m : float
        Run past the bit, and past the rods that the pitch is held for, after which steering begins.
    """

    head: Head
    rig: Rig
    level_turns: tuple[LevelTurn, ...] = ()
    spare_m: float = 0.0

    @property
    def rod_run_m(self) -> float:
        """What a rod at this pitch runs."""
        return self.rig.rod_length_m * float(np.cos(self.head.angle_rad))

    def steered_from_m(self, held_rods: int) -> float:
        """The run at which steering begins once the pitch is held for some rods; with none, at the bit."""
        return bit_run_m(self.head, self.rig) + held_rods * self.rod_run_m + self.spare_m

    @property
    def angles_rad(self) -> tuple[float, ...]:
        """The pitches that the head may have: whatever it is, the lines must be passed."""
        error = self.head.angle_error_rad
        return (self.head.angle_rad - error, self.head.angle_rad + error) if error else (self.head.angle_rad,)


@dataclass(frozen=True, eq=False)
class Passing:
    """A line ahead and the side on which it is passed."""

    line: LineAhead
    side: Side


@dataclass(frozen=True, eq=False)
class Corridor:
    """Places along the run ahead with what is asked there, and what can be steered between them."""

    runs_m: FloatArray
    over_m: FloatArray
    under_m: FloatArray
    bends_per_m: FloatArray

    def between(self, first: int, last: int) -> "Corridor":
        """Its places from one to another, both with it."""
        end = last + 1
        return Corridor(
            self.runs_m[first:end],
            self.over_m[first:end],
            self.under_m[first:end],
            self.bends_per_m[first:last],
        )

    def heights_m(self, elevation_m: float, sines: FloatArray) -> FloatArray:
        """Elevations of ways at the places, from the sines of their pitches there: (..., n) float arrays."""
        cosines = np.sqrt(1.0 - sines * sines)
        pairs = (sines[..., :-1] + sines[..., 1:]) / (cosines[..., :-1] + cosines[..., 1:])
        heights = np.full(sines.shape, elevation_m)
        heights[..., 1:] += np.cumsum(np.diff(self.runs_m) * pairs, axis=-1)
        return heights

    def room_m(self, heights_m: FloatArray) -> FloatArray:
        """What ways leave to what is asked at the places, (..., n) as they are; below 0 if missed."""
        return np.asarray(np.minimum(heights_m - self.over_m, self.under_m - heights_m), dtype=float)


def corridor_of(
    ahead: Ahead, passings: Sequence[Passing], at_m: Sequence[float], eased_m: Sequence[float]
) -> Corridor:
    """The places of all lines, those asked for, and some between."""
    turns = [one for turn in ahead.level_turns for one in (turn.from_m, turn.to_m)]
    end_m = max([*at_m, *(one.line.edges[0][-1] for one in passings)])
    parts = [np.arange(0.0, end_m, STEP_M), np.array([*at_m, *(one for one in turns if 0.0 < one < end_m)])]
    runs = np.unique(np.concatenate([*parts, *(one.line.edges[0] for one in passings)]))
    runs = runs[np.concatenate([[True], np.diff(runs) > SAME_RUN_M])]
    over, under = np.full(len(runs), -np.inf), np.full(len(runs), np.inf)
    for one, eased in zip(passings, eased_m, strict=True):
        places, lower, upper = one.line.edges
        at = np.clip(np.searchsorted(runs, places - SAME_RUN_M), 0, len(runs) - 1)
        near = ~np.isnan(upper)
        if one.side is Side.OVER:
            np.maximum.at(over, at[near], upper[near] - SLACK_M - eased)
            if (upper[near] > one.line.ceiling_m).any():
                # No way over it leaves the cover.
                over[at[near]] = np.inf
        else:
            np.minimum.at(under, at[near], lower[near] + SLACK_M + eased)
    bends = np.empty(len(runs) - 1)
    middles = 0.5 * (runs[:-1] + runs[1:])
    for low, high, bend in bends_left(ahead.rig, 0.0, ahead.level_turns):
        bends[(middles >= low) & (middles < high)] = bend
    return Corridor(runs, over, under, bends)


def _steepest(ahead: Ahead) -> tuple[float, float]:
    """The sines between which anybody steers; a head that is steeper is not bent back at once."""
    steepest = float(np.sin(np.arctan(ahead.rig.steepest_ratio)))
    sines = np.sin(ahead.angles_rad)
    return min(-steepest, float(sines.min())), max(steepest, float(sines.max()))


def sections_of(ahead: Ahead, corridor: Corridor, places: np.ndarray, sines: FloatArray) -> FloatArray:
    """Elevations from which all lines beyond can be passed, at places and pitches asked."""
    least, greatest = _steepest(ahead)
    least, greatest = min(least, float(sines.min())), max(greatest, float(sines.max()))
    step = float(np.sqrt(8.0 * CHORD_M / ahead.rig.bend_radius_m))
    return sections_m(
        corridor.runs_m,
        corridor.over_m,
        corridor.under_m,
        corridor.bends_per_m,
        (least, greatest, step),
        (places.astype(np.int64), np.asarray(sines, dtype=float)),
    )


def choices(lines: Sequence[LineAhead]) -> Iterator[tuple[Side, ...]]:
    """Sides of the lines: each planned one as it is, each other on either."""
    yield from product(*([one.planned] if one.planned else list(Side) for one in lines))
