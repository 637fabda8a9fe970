"""The smallest set of demands that no profile can keep together."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from conflicts.engine.profile_limits import FAR_M, Obstacle, ProfileLimits, Range
from conflicts.engine.profile_programme import Programme
from conflicts.engine.profile_proof import Demand, OuterModel
from conflicts.engine.profile_samples import telling
from conflicts.engine.profile_ways import Ways

# A bend so sharp that it is none, m.
SHARPEST_M = 0.01
# What limits become where a demand is given up. Above the ground no bore comes out.
WITHOUT: Mapping[Demand, Mapping[str, Any]] = {
    Demand.ENTRY_DEPTH: {"entry_depth_m": Range(-FAR_M, FAR_M)},
    Demand.ENTRY_PITCH: {"entry_pitch_ratio": Range(-1.0, 1.0)},
    Demand.EXIT_DEPTH: {"exit_depth_m": Range(0.0, FAR_M)},
    Demand.EXIT_PITCH: {"exit_pitch_ratio": Range(-1.0, 1.0)},
    Demand.BEND_RADIUS: {"bend_radius_m": SHARPEST_M, "rod_length_m": SHARPEST_M},
    Demand.STEEPEST_PITCH: {"steepest_pitch_ratio": 1.0},
    Demand.COVER: {"minimum_cover_m": 0.0, "hole_radius_m": 0.0},
    Demand.GREATEST_DEPTH: {"greatest_depth_m": FAR_M},
    Demand.ALIGNMENT: {"plan_bends": ()},
}


@dataclass(frozen=True)
class Conflict:
    """Demands that cannot all hold, none of which could be left out of the set.

    Attributes
    ----------
    demands : tuple of Demand
    lines : tuple of int
        Which of the obstacles must be missed.
    """

    demands: tuple[Demand, ...]
    lines: tuple[int, ...]


def smallest_conflict(limits: ProfileLimits, obstacles: Sequence[Obstacle]) -> Conflict | None:
    """The fewest demands that are proven impossible together; None where nothing is proven.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle

    Raises
    ------
    SearchError
        The solver gave neither an answer nor a proof.

    Notes
    -----
    Asked of the linear model first, and where that proves nothing of all ways that the rig can bend. Every
    set of demands whose giving up makes the rest possible has a member in every impossible set. The fewest
    demands that have a member in each such set found so far are asked: if they are impossible together no
    smaller set is; else what was given up instead is one more such set (implicit hitting sets: A. Ignatiev,
    A. Previti, M. Liffiton, J. Marques-Silva, Smallest MUS extraction with minimal hitting set dualization,
    CP 2015).
    """
    if limits.too_sharp is not None:
        return Conflict((Demand.BEND_RADIUS, Demand.ALIGNMENT), ())
    count = len(Demand) + len(obstacles)
    for broken in (OuterModel(limits, obstacles).broken, DemandsOfWays(limits, obstacles).broken):
        if broken(range(count)) is None:
            return _smallest(broken, count)
    return None


class DemandsOfWays:
    """All ways that keep some demands, the others given up; demands are numbered as in `OuterModel`.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    """

    def __init__(self, limits: ProfileLimits, obstacles: Sequence[Obstacle]) -> None:
        self._limits, self._obstacles = limits, obstacles
        self._telling = telling(limits, obstacles)

    def broken(self, kept: Collection[int]) -> frozenset[int] | None:
        """Demands to give up so that those kept and all others may hold; None where those kept cannot."""
        holding = set(kept)
        if not self.may_hold(holding):
            return None
        rest = [number for number in range(len(Demand) + len(self._obstacles)) if number not in holding]
        for number in rest:
            if self.may_hold({*holding, number}):
                holding.add(number)
        return frozenset(rest) - holding

    def may_hold(self, kept: Collection[int]) -> bool:
        """Whether a way may exist that keeps demands."""
        given_up = [one for number, one in enumerate(Demand) if number not in kept]
        limits = replace(
            self._limits, **{key: value for one in given_up for key, value in WITHOUT[one].items()}
        )
        lines = [number for number in range(len(self._obstacles)) if len(Demand) + number in kept]
        ways = Ways(
            limits,
            [self._obstacles[number] for number in lines],
            [self._telling[number] for number in lines],
            limits.entry_station_m,
            is_sure=True,
        )
        return ways.is_open(0.0)


def _smallest(broken: Callable[[Collection[int]], frozenset[int] | None], count: int) -> Conflict:
    """The fewest of so many demands that cannot all hold."""
    given_up: list[frozenset[int]] = []
    while True:
        chosen = _fewest_that_hit(given_up, count)
        instead = broken(chosen)
        if instead is None:
            order = list(Demand)
            return Conflict(
                tuple(order[number] for number in sorted(chosen) if number < len(order)),
                tuple(number - len(order) for number in sorted(chosen) if number >= len(order)),
            )
        given_up.append(instead)


def _fewest_that_hit(sets: Sequence[frozenset[int]], count: int) -> frozenset[int]:
    """The fewest of so many numbers of which each set has one."""
    programme = Programme(count)
    for column in range(count):
        programme.choose(column)
        # Of sets as small, the one of the earlier demands: those of the rig before the lines.
        programme.cost[column] = 1.0 + 1e-4 * column / count
    for members in sets:
        programme.ask(dict.fromkeys(members, 1.0), 1.0, float("inf"))
    found = programme.solve(gap_ratio=0.0) if sets else None
    return frozenset() if found is None else frozenset(int(one) for one in (found > 0.5).nonzero()[0])
