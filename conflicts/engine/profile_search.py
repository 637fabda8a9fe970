"""The profile with the largest least margin, or a proof that there is none."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_measure import Measured
from conflicts.engine.profile_model import best_sides
from conflicts.engine.profile_proof import is_impossible
from conflicts.engine.profile_refine import rods_along, shortest, widest

# The sides are first chosen with edges taken as linear about this margin, m; then about the margin found.
FIRST_ABOUT_M = 0.75
# So many choices of sides are refined at most: each next one where the model gives it the margin of the best
# profile so far, less this, m.
MOST_CHOICES = 3
MODEL_MISS_M = 0.0
# What the inner model's bend is stretched by where it finds nothing and the outer one proves nothing.
STRETCHES = (1.0, 1.06, 1.12)
# Where the rig may stand anywhere in a stretch, so many places of it are tried at most, evenly.
MOST_PLACES = 7
# Margins nearer than this are the same, and the shorter profile is the better one, m.
AS_GOOD_M = 1e-3
# What a bound on the margin is first asked at, above the margin found, m; then twice as far each time, and by
# halves once one is proven, to a tenth of the way.
BOUND_STEP_M = 0.0025


@dataclass(frozen=True, eq=False)
class Search:
    """What a search came to.

    Attributes
    ----------
    found : Measured or None
        The best profile that keeps every limit and misses every obstacle by what is required or more.
    nearest : Measured or None
        Where none does: what came nearest to it.
    is_proven : bool
        Nothing found, and it is proven that there is nothing.
    """

    found: Measured | None
    nearest: Measured | None
    is_proven: bool


def in_any_time() -> None:
    """A search that may take as long as it takes."""


def search_profile(
    limits: ProfileLimits, obstacles: Sequence[Obstacle], keep_time: Callable[[], None] = in_any_time
) -> Search:
    """Find the profile with the largest least margin, then the shortest, then the straightest.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    keep_time : callable
        Asked before each part of the work; raises where the time is over.

    Returns
    -------
    Search

    Raises
    ------
    SearchError
        The solver gave neither an answer nor a proof.

    Notes
    -----
    A mixed-integer programme chooses the sides (`profile_model`), exact arcs are then moved to the best place
    on those sides (`profile_refine`). Every figure is measured on the arcs, never taken from a solver.
    """
    nearest: Measured | None = None
    for stretch in STRETCHES:
        for place in _places_m(limits):
            keep_time()
            best = _best_at(limits, obstacles, place, stretch)
            if best is not None and (nearest is None or is_better(best, nearest, limits.enough_margin_m)):
                nearest = best
        if nearest is not None and nearest.keeps_limits and nearest.margin_m >= 0.0:
            return Search(nearest, None, is_proven=False)
        if stretch == STRETCHES[0] and is_impossible(limits, obstacles):
            return Search(None, nearest, is_proven=True)
    return Search(None, nearest, is_proven=False)


def margin_bound_m(limits: ProfileLimits, obstacles: Sequence[Obstacle], found_m: float) -> float | None:
    """A margin that is proven to be out of reach of every profile, close above one that was found.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    found_m : float

    Returns
    -------
    float or None
        None where nothing up to the margin that is enough is proven to be out of reach.

    Raises
    ------
    SearchError
        The solver gave neither an answer nor a proof.
    """
    low, high = 0.0, BOUND_STEP_M
    while not is_impossible(limits, obstacles, found_m + high):
        if found_m + high >= limits.enough_margin_m:
            return None
        low, high = high, 2.0 * high
    while high - low > max(BOUND_STEP_M, 0.1 * high):
        middle = 0.5 * (low + high)
        if is_impossible(limits, obstacles, found_m + middle):
            high = middle
        else:
            low = middle
    return found_m + high


def is_better(one: Measured, other: Measured, enough_m: float) -> bool:
    """Whether a profile is better: its limits kept, then the larger margin, then the shorter."""
    if one.keeps_limits != other.keeps_limits:
        return one.keeps_limits
    gained = min(one.margin_m, enough_m) - min(other.margin_m, enough_m)
    if abs(gained) > AS_GOOD_M:
        return gained > 0.0
    return one.rods.length_m < other.rods.length_m


def _places_m(limits: ProfileLimits) -> list[float]:
    """Where the rig is first put: a rod apart or less, both ends of its stretch among them."""
    stretch = limits.entry_station_m
    count = int(np.ceil((stretch.greatest - stretch.least) / limits.rod_length_m)) + 1
    return [float(one) for one in np.linspace(stretch.least, stretch.greatest, min(count, MOST_PLACES))]


def _best_at(
    limits: ProfileLimits, obstacles: Sequence[Obstacle], entry_m: float, stretch: float
) -> Measured | None:
    """The best profile that begins at or near a place of the rig."""
    about, least = min(FIRST_ABOUT_M, limits.enough_margin_m), 0.0
    best: Measured | None = None
    passes_under = np.zeros(len(obstacles), dtype=bool)
    tried: list[np.ndarray] = []
    while len(tried) < (MOST_CHOICES if stretch == STRETCHES[0] else 1):
        sides = best_sides(limits, obstacles, entry_m, about, stretch, least, tried)
        if sides is None:
            break
        tried.append(sides.passes_under)
        found = widest(limits, obstacles, sides.passes_under, rods_along(limits, sides))
        if best is None or is_better(found, best, limits.enough_margin_m):
            best, passes_under = found, sides.passes_under
        about = sides.margin_m
        least = max(0.0, best.margin_m - MODEL_MISS_M) if best.keeps_limits else 0.0
        if not obstacles or least + MODEL_MISS_M + AS_GOOD_M >= limits.enough_margin_m:
            break
    return None if best is None else shortest(limits, obstacles, passes_under, best)
