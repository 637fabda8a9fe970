"""The smallest set of demands that no profile can keep together."""

from collections.abc import Sequence
from dataclasses import dataclass

from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_programme import Programme
from conflicts.engine.profile_proof import Demand, OuterModel


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
    Every set of demands whose giving up makes the rest possible has a member in every impossible set. The
    fewest demands that have a member in each such set found so far are asked: if they are impossible together
    no smaller set is; else what was given up instead is one more such set (implicit hitting sets: A.
    Ignatiev, A. Previti, M. Liffiton, J. Marques-Silva, Smallest MUS extraction with minimal hitting set
    dualization, CP 2015).
    """
    if limits.too_sharp is not None:
        return Conflict((Demand.BEND_RADIUS, Demand.ALIGNMENT), ())
    model = OuterModel(limits, obstacles)
    everything = range(model.count_of_demands)
    if model.broken(everything) is not None:
        return None
    given_up: list[frozenset[int]] = []
    while True:
        chosen = _fewest_that_hit(given_up, model.count_of_demands)
        broken = model.broken(chosen)
        if broken is None:
            order = list(Demand)
            return Conflict(
                tuple(order[number] for number in sorted(chosen) if number < len(order)),
                tuple(number - len(order) for number in sorted(chosen) if number >= len(order)),
            )
        given_up.append(broken)


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
