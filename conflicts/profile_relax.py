"""The single relaxations that make a profile possible where none is: each the least that a search finds."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from conflicts.engine.profile_limits import Range
from conflicts.engine.profile_lines import BLOCKED_M, UnknownDepth
from conflicts.engine.profile_search import in_any_time
from conflicts.profile_demands import FARTHEST_BACK_M, Demands, LineAhead
from conflicts.profile_eased import Eased, eased_limits
from conflicts.profile_stretches import is_possible

# To what the rig's move back is told, m.
BACK_STEP_M = 0.1
# So far from the edge of a zone a place is past it, m.
EDGE_M = 1e-3
# How much narrower a bend is tried, and to what part of its radius it is told.
NARROWEST_RATIO = 0.4
BEND_STEP_RATIO = 0.005


class Relaxed(StrEnum):
    """What is given way in, the cheapest first (common practice, no source)."""

    RIG_BACK = "rig_back"
    EXPOSE = "expose"
    MORE_PITCH = "more_pitch"
    LIMIT = "limit"


@dataclass(frozen=True, eq=False)
class Relaxation:
    """A demand that is relaxed, so that a profile is found.

    Attributes
    ----------
    kind : Relaxed
    back_m : float or None
        How far the rig moves back.
    bend_radius_m : float or None
        What the rods would have to bend to.
    lines : tuple of LineAhead
        To be exposed; the profile is found as if they were not there, so their test holes must clear it.
    eased : Eased or None
        Another limit, and how far it gives way.
    """

    kind: Relaxed
    back_m: float | None = None
    bend_radius_m: float | None = None
    lines: tuple[LineAhead, ...] = ()
    eased: Eased | None = None


def relaxations(demands: Demands, keep_time: Callable[[], None] = in_any_time) -> Iterator[Relaxation]:
    """What, relaxed alone, makes a profile possible; the cheapest first.

    Parameters
    ----------
    demands : Demands
        Which no profile keeps.
    keep_time : callable
        Asked before each part of the work; raises where the time is over.

    Raises
    ------
    SearchError
        The solver gave neither an answer nor a proof.

    Notes
    -----
    Each was searched and found: none is taken from a bound. Where no single line that is exposed is enough
    but all unknown ones together are, they are told as one.
    """

    def is_enough(one: Demands) -> bool:
        return is_possible(one, keep_time)

    if any(_blocks(one) for one in demands.lines):
        yield from _exposed(demands, is_enough)
        return
    back_m = None if demands.begins_at_bit else _rig_back_m(demands, is_enough)
    if back_m is not None:
        yield Relaxation(Relaxed.RIG_BACK, back_m=back_m)
    yield from _exposed(demands, is_enough)
    radius_m = demands.limits.bend_radius_m
    narrower = _least(
        lambda part: is_enough(_bent(demands, 1.0 - part)), 0.0, 1.0 - NARROWEST_RATIO, BEND_STEP_RATIO
    )
    if narrower is not None:
        yield Relaxation(Relaxed.MORE_PITCH, bend_radius_m=radius_m * (1.0 - narrower))
    for eased in eased_limits(demands, is_enough, _least):
        yield Relaxation(Relaxed.LIMIT, eased=eased)


def _blocks(line: LineAhead) -> bool:
    """Whether a line blocks every depth, which no place of the rig and no bend gets round."""
    return isinstance(line.obstacle, UnknownDepth) and line.obstacle.down_to_m >= BLOCKED_M


def _rig_back_m(demands: Demands, is_enough: Callable[[Demands], bool]) -> float | None:
    """How far the rig moves back at least, from the rearmost place that it may have; None where none helps.

    Between the zones of the lines behind, and within each up to where it is met, a place farther back is
    taken to be no worse; past there all may be otherwise, so each such stretch is looked at for itself.
    """
    rear_m = demands.limits.entry_station_m.least
    edges_m = {
        rear_m - edge
        for one in demands.lines
        for edge in (one.from_m, one.to_m, one.last_met_m)
        if edge is not None
    }
    inner = sorted(one for one in edges_m if 0.0 < one < FARTHEST_BACK_M)
    near_m = 0.0
    for far_m in (*inner, FARTHEST_BACK_M):
        back_m = _least(
            lambda far: is_enough(demands.begun_in(Range(rear_m - far, rear_m - far))),
            near_m,
            max(near_m, far_m - EDGE_M),
            BACK_STEP_M,
        )
        if back_m is not None:
            return back_m
        near_m = far_m
    return None


def _bent(demands: Demands, ratio: float) -> Demands:
    """The same with so much of the bend radius."""
    narrower = replace(demands.limits, bend_radius_m=demands.limits.bend_radius_m * ratio)
    return replace(demands, limits=narrower)


def _least(is_enough: Callable[[float], bool], nothing: float, most: float, step: float) -> float | None:
    """The least of a figure that is enough, up to a step: by doubling, then by halves; None where none is."""
    low, high = nothing, nothing + (most - nothing) / 32.0
    while not is_enough(high):
        if high >= most:
            return None
        low, high = high, min(most, nothing + 2.0 * (high - nothing))
    while high - low > step:
        middle = 0.5 * (low + high)
        if is_enough(middle):
            high = middle
        else:
            low = middle
    return high


def _exposed(demands: Demands, is_possible_without: Callable[[Demands], bool]) -> Iterator[Relaxation]:
    """Each line of unknown depth without which a profile is found, or all of them where no one is enough."""
    unknown = {one.mark.mark_id: one for one in demands.lines if not one.depth_is_known}
    is_enough = False
    for mark_id, line in unknown.items():
        if is_possible_without(demands.without(mark_id)):
            is_enough = True
            yield Relaxation(Relaxed.EXPOSE, lines=(line,))
    if is_enough or len(unknown) < 2:
        return
    without = demands
    for mark_id in unknown:
        without = without.without(mark_id)
    if is_possible_without(without):
        yield Relaxation(Relaxed.EXPOSE, lines=tuple(unknown.values()))
