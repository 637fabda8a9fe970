"""A limit of a profile that gives way by itself: how far at least, so that a profile is found."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from conflicts.engine.profile_limits import FAR_M, ProfileLimits, Range
from conflicts.engine.profile_proof import Demand
from conflicts.profile_demands import Demands


@dataclass(frozen=True, eq=False)
class Eased:
    """A limit that gave way.

    Attributes
    ----------
    demand : Demand
    by_m, by_ratio : float or None
        How far it gave way: a depth or cover in metres, a pitch as a ratio.
    limits : ProfileLimits
        With which a profile was found.
    """

    demand: Demand
    limits: ProfileLimits
    by_m: float | None = None
    by_ratio: float | None = None


@dataclass(frozen=True)
class _Way:
    """How a limit gives way: the most that is tried, and to what it is told."""

    most: float
    step: float
    give: Callable[[ProfileLimits, float], ProfileLimits]
    is_pitch: bool = False


def _wider(wanted: Range, by: float) -> Range:
    return Range(wanted.least - by, wanted.greatest + by)


def _wider_down(wanted: Range, by: float) -> Range:
    """Wider, but for pitches upward: no rig enters so."""
    return Range(wanted.least - by, max(wanted.greatest, min(0.0, wanted.greatest + by)))


def _steepest(entry: Range, leaving: Range) -> float:
    return max(map(abs, (entry.least, entry.greatest, leaving.least, leaving.greatest)))


def _with_ends(limits: ProfileLimits, entry: Range, leaving: Range) -> ProfileLimits:
    """With other pitches at the ends; a steepest pitch that nobody asked for is that of the steeper end."""
    steepest = limits.steepest_pitch_ratio
    if steepest >= _steepest(limits.entry_pitch_ratio, limits.exit_pitch_ratio):
        steepest = max(steepest, _steepest(entry, leaving))
    return replace(limits, entry_pitch_ratio=entry, exit_pitch_ratio=leaving, steepest_pitch_ratio=steepest)


# The cheapest first, and the cover last, which others than the crew decide (common practice, no source).
WAYS = {
    Demand.GREATEST_DEPTH: _Way(
        10.0, 0.01, lambda limits, by: replace(limits, greatest_depth_m=limits.greatest_depth_m + by)
    ),
    Demand.STEEPEST_PITCH: _Way(
        0.5,
        0.005,
        lambda limits, by: replace(limits, steepest_pitch_ratio=limits.steepest_pitch_ratio + by),
        is_pitch=True,
    ),
    Demand.ENTRY_PITCH: _Way(
        0.3,
        0.005,
        lambda limits, by: _with_ends(
            limits, _wider_down(limits.entry_pitch_ratio, by), limits.exit_pitch_ratio
        ),
        is_pitch=True,
    ),
    Demand.EXIT_PITCH: _Way(
        0.3,
        0.005,
        lambda limits, by: _with_ends(limits, limits.entry_pitch_ratio, _wider(limits.exit_pitch_ratio, by)),
        is_pitch=True,
    ),
    Demand.EXIT_DEPTH: _Way(
        3.0,
        0.01,
        lambda limits, by: replace(
            limits,
            exit_depth_m=Range(max(0.0, limits.exit_depth_m.least - by), limits.exit_depth_m.greatest + by),
        ),
    ),
    Demand.COVER: _Way(
        3.0,
        0.01,
        lambda limits, by: replace(limits, minimum_cover_m=max(0.0, limits.minimum_cover_m - by)),
    ),
}


def eased_limits(
    demands: Demands,
    is_enough: Callable[[Demands], bool],
    least: Callable[[Callable[[float], bool], float, float, float], float | None],
) -> Iterator[Eased]:
    """Each limit that is enough by itself, with the least by which it gives way.

    Parameters
    ----------
    demands : Demands
        Which no profile keeps.
    is_enough : callable
        Whether a profile is found for demands.
    least : callable
        The least of a figure that is enough: of a test, nothing, the most, and a step.
    """
    for demand, way in WAYS.items():
        if not _can_give(demands, demand) or not is_enough(_given(demands, way, way.most)):
            continue
        by = least(partial(_is_enough_by, demands, way, is_enough), 0.0, way.most, way.step)
        if by is not None:
            limits = _given(demands, way, by).limits
            yield (Eased(demand, limits, by_ratio=by) if way.is_pitch else Eased(demand, limits, by_m=by))


def _is_enough_by(demands: Demands, way: _Way, is_enough: Callable[[Demands], bool], by: float) -> bool:
    return is_enough(_given(demands, way, by))


def _given(demands: Demands, way: _Way, by: float) -> Demands:
    return replace(demands, limits=way.give(demands.limits, by))


def _can_give(demands: Demands, demand: Demand) -> bool:
    """Whether anybody asked for it, and can ask for less: what is drilled cannot."""
    limits = demands.limits
    if demand is Demand.ENTRY_PITCH:
        return not demands.begins_at_bit
    if demand is Demand.GREATEST_DEPTH:
        return limits.greatest_depth_m < FAR_M
    if demand is Demand.EXIT_DEPTH:
        # An end at the surface is no depth that could be another.
        return limits.exit_depth_m.greatest > 0.0
    return demand is not Demand.COVER or limits.minimum_cover_m > 0.0
