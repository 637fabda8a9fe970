"""A rig that may stand in a stretch: the parts of it in which every line is met the same way.

A line whose centre line the bore meets in plan is a crossing, unless the bore begins past that place; then it
lies alongside, and another separation is required. So the stretch is cut at the last meeting with each line
whose two figures differ, and each part is searched with the figures that hold there.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.profile_limits import Range
from conflicts.engine.profile_search import Search, in_any_time, is_better, margin_bound_m, search_profile
from conflicts.profile_demands import MORE_COVER_M, SAME_PLACE_M, Demands

# How often the stretch that must be covered is taken from the profile found before.
COVER_ROUNDS = 3
# So far past the last meeting a bore lies alongside, m: more than the meeting is known to.
PAST_M = 10.0 * SAME_PLACE_M


def parts_of(demands: Demands) -> list[Demands]:
    """The demands of each part of the stretch in which the rig may stand, the rearmost first.

    Parameters
    ----------
    demands : Demands
        One that goes on from the bit is whole: its hole begins where it was begun.
    """
    if demands.begins_at_bit:
        return [demands]
    stretch = demands.limits.entry_station_m
    cuts = {
        one.last_met_m
        for one in demands.lines
        if one.last_met_m is not None
        and one.as_crossing_m != one.as_alongside_m
        and stretch.least <= one.last_met_m < stretch.greatest
    }
    parts, begin_m = [], stretch.least
    for cut_m in sorted(cuts):
        if begin_m <= cut_m:
            parts.append(Range(begin_m, cut_m))
        begin_m = max(begin_m, cut_m + PAST_M)
    if begin_m <= stretch.greatest:
        parts.append(Range(begin_m, stretch.greatest))
    return [demands.begun_in(part) for part in parts]


def is_possible(demands: Demands, keep_time: Callable[[], None] = in_any_time) -> bool:
    """Whether a profile is found anywhere in the stretch.

    Parameters
    ----------
    demands : Demands
    keep_time : callable
        As for `search_profile`.

    Raises
    ------
    SearchError
        The solver gave neither an answer nor a proof.
    """
    return any(search_profile(one.limits, one.obstacles, keep_time).found for one in parts_of(demands))


def search_stretch(demands: Demands, keep_time: Callable[[], None]) -> tuple[Demands, Search]:
    """The best profile of all parts of the stretch, with the demands of the part that it is of.

    Parameters
    ----------
    demands : Demands
    keep_time : callable
        As for `search_profile`.

    Returns
    -------
    Demands
        Where nothing is found, of the part in which something came nearest.
    Search
        Proven where that is proven of every part.

    Raises
    ------
    SearchError
        The solver gave neither an answer nor a proof.
    """
    searched = [_covered_search(one, keep_time) for one in parts_of(demands)]
    best = searched[0]
    for one in searched[1:]:
        if _is_better(one, best):
            best = one
    is_proven = all(search.is_proven for _part, search in searched)
    return best[0], replace(best[1], is_proven=is_proven)


def bound_m(demands: Demands, found_m: float) -> float | None:
    """A margin that is proven to be out of reach wherever in the stretch the rig stands; None where none is.

    Parameters
    ----------
    demands : Demands
        Of the whole stretch.
    found_m : float
        The margin that was found.
    """
    bounds = [margin_bound_m(one.limits, one.obstacles, found_m) for one in parts_of(demands)]
    known = [one for one in bounds if one is not None]
    return max(known) if len(known) == len(bounds) else None


def _is_better(one: tuple[Demands, Search], other: tuple[Demands, Search]) -> bool:
    """Whether a part's profile is the better one; one that keeps all is better than what came nearest."""
    (part, search), (_, than) = one, other
    if (search.found is None) != (than.found is None):
        return search.found is not None
    mine, theirs = search.found or search.nearest, than.found or than.nearest
    if mine is None or theirs is None:
        return theirs is None and mine is not None
    return is_better(mine, theirs, part.limits.enough_margin_m)


def _covered_search(demands: Demands, keep_time: Callable[[], None]) -> tuple[Demands, Search]:
    """The search of one part, with cover asked from where what is found has it first to where last."""
    for _ in range(COVER_ROUNDS):
        search = search_profile(demands.limits, demands.obstacles, keep_time)
        if search.found is None:
            break
        covered = _covered(demands, search.found.rods)
        if covered == demands.limits.covered_m:
            break
        demands = replace(demands, limits=replace(demands.limits, covered_m=covered))
    return demands, search


def _covered(demands: Demands, rods: RodProfile) -> Range:
    """The stretch to be covered, widened where a profile had the cover before or after and lost it again."""
    limits = demands.limits
    stations = np.arange(rods.entry_station_m, limits.length_m, 0.1)
    cover_m = limits.ground.at(stations) - rods.at(stations).elevations_m - limits.hole_radius_m
    # By half of what is planned with more: a drilled rod may have the recorded cover to the last digit.
    has_it = cover_m >= limits.minimum_cover_m - 0.5 * MORE_COVER_M
    reached = np.flatnonzero(has_it)
    if len(reached) == 0 or has_it[reached[0] : reached[-1] + 1].all():
        return limits.covered_m
    return Range(
        min(limits.covered_m.least, float(stations[reached[0]])),
        max(limits.covered_m.greatest, float(stations[reached[-1]])),
    )
