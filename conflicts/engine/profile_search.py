"""The profile with the largest least margin, or a proof that there is none."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.engine.profile_branches import OPEN, UNDER
from conflicts.engine.profile_limits import Obstacle, ProfileLimits, Range
from conflicts.engine.profile_measure import Measured
from conflicts.engine.profile_model import slopes_on_sides
from conflicts.engine.profile_proof import is_impossible
from conflicts.engine.profile_refine import rods_along, shortest, widest
from conflicts.engine.profile_samples import Telling, telling
from conflicts.engine.profile_ways import Ways

# So many choices of sides are refined at most: each next one where a way has the margin of the best profile
# so far and this more, m.
MOST_CHOICES = 6
WORTH_M = 3e-3
# Parts of the way from the least margin asked to the largest of all ways, at which sides are looked for.
LOOKED_AT = (0.0, 0.5, 0.9, 0.97, 0.99)
# Lines that leave no more than this above the least margin are those that decide it, m.
DECIDING_M = 2e-2
# What the model's bend is stretched by where it finds nothing on given sides.
STRETCHES = (1.0, 1.06, 1.12)
# Where the rig may stand anywhere in a stretch, so many places of it are tried at most, evenly.
MOST_PLACES = 7
# So far past an obstacle nothing of it is met, m.
PAST_OBSTACLE_M = 1e-6
# Margins nearer than this are the same, and the shorter profile is the better one, m.
AS_GOOD_M = 1e-3
# A profile is refined from a second beginning where ways have more margin by this, m.
SECOND_BEGINNING_M = 5e-3
# A margin out of reach is proven to be so to this, m.
BOUND_M = 1e-3


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
    All ways that bend no more than the rig are followed at once (`profile_ways`); they say how large the
    margin can be and on which sides. Exact arcs are then moved to the best place on those sides
    (`profile_refine`), and other sides are tried while ways have more margin. Every figure is measured on the
    arcs.
    """
    nearest: Measured | None = None
    if limits.too_sharp is None:
        told_at = telling(limits, obstacles)
        for place in _places_m(limits, obstacles):
            keep_time()
            best = _AtPlace(limits, obstacles, told_at, place).best(keep_time)
            if best is not None and (nearest is None or is_better(best, nearest, limits.enough_margin_m)):
                nearest = best
    if nearest is not None and nearest.keeps_limits and nearest.margin_m >= 0.0:
        return Search(nearest, None, is_proven=False)
    return Search(None, nearest, is_proven=is_impossible(limits, obstacles))


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
    """
    ways = Ways(limits, obstacles, telling(limits, obstacles), limits.entry_station_m, is_sure=True)
    low, high = found_m, found_m + BOUND_M
    while ways.is_open(high):
        if high >= limits.enough_margin_m:
            return None
        low, high = high, high + 2.0 * (high - low)
    while high - low > BOUND_M:
        middle = 0.5 * (low + high)
        if ways.is_open(middle):
            low = middle
        else:
            high = middle
    return high


def is_better(one: Measured, other: Measured, enough_m: float) -> bool:
    """Whether a profile is better: its limits kept, then the larger margin, then the shorter."""
    if one.keeps_limits != other.keeps_limits:
        return one.keeps_limits
    gained = min(one.margin_m, enough_m) - min(other.margin_m, enough_m)
    if abs(gained) > AS_GOOD_M:
        return gained > 0.0
    return one.rods.length_m < other.rods.length_m


def _places_m(limits: ProfileLimits, obstacles: Sequence[Obstacle]) -> list[float]:
    """Where the rig is first put: a rod apart or less, both ends of its stretch among them.

    Also just past each obstacle in the stretch, which a bore that begins there has behind it: no step of the
    refinement leads through an obstacle to there.
    """
    stretch = limits.entry_station_m
    count = int(np.ceil((stretch.greatest - stretch.least) / limits.rod_length_m)) + 1
    places = set(np.linspace(stretch.least, stretch.greatest, min(count, MOST_PLACES)).tolist())
    past = (one.to_m + PAST_OBSTACLE_M for one in obstacles)
    return sorted(places | {one for one in past if stretch.least < one < stretch.greatest})


class _AtPlace:
    """The search with the rig at or near a place."""

    def __init__(
        self,
        limits: ProfileLimits,
        obstacles: Sequence[Obstacle],
        told_at: Sequence[Telling],
        entry_m: float,
    ) -> None:
        self.limits, self.obstacles, self.told_at, self.entry_m = limits, obstacles, told_at, entry_m
        self.ways = Ways(limits, obstacles, told_at, Range(entry_m, entry_m), is_sure=False)

    def best(self, keep_time: Callable[[], None]) -> Measured | None:
        """The best profile; None where no way leads to the exit."""
        most_m, enough_m = self.ways.widest_m(), self.limits.enough_margin_m
        if most_m is None:
            return None
        best: Measured | None = None
        passes_under = np.zeros(len(self.obstacles), dtype=bool)
        told: list[np.ndarray] = []
        while len(told) < MOST_CHOICES:
            keep_time()
            least_m = _least_worth_m(best)
            sides = self._next_sides(least_m, most_m, told) if least_m <= enough_m else None
            if sides is None:
                break
            found, holding = self._refined(sides == UNDER, most_m, is_shortest=True)
            told.append(_deciding(sides, found, holding))
            if found is not None and (best is None or is_better(found, best, enough_m)):
                best, passes_under = found, sides == UNDER
        if best is None:
            return None
        if _least_worth_m(best) + SECOND_BEGINNING_M - WORTH_M <= most_m:
            again, _holding = self._refined(passes_under, best.margin_m, is_shortest=False)
            if again is not None and is_better(again, best, enough_m):
                best = again
        return shortest(self.limits, self.obstacles, self.told_at, passes_under, best)

    def _next_sides(self, least_m: float, most_m: float, told: list[np.ndarray]) -> np.ndarray | None:
        """Sides of a way with a large margin, the least one at any rate."""
        found, low, high = None, -1, len(LOOKED_AT)
        while high - low > 1:
            # The first sides are found near the largest margin; of others it is asked whether there are any.
            middle = high - 1 if not told else 0 if low < 0 else (low + high) // 2
            at_m = least_m + LOOKED_AT[middle] * max(0.0, most_m - least_m)
            sides = self.ways.sides(at_m, told)
            if sides is None and middle == 0:
                return None
            if sides is None:
                high = middle
            else:
                found, low = sides, middle
            if not told and found is not None:
                break
        return found

    def _refined(
        self, passes_under: np.ndarray, about_m: float, *, is_shortest: bool
    ) -> tuple[Measured | None, np.ndarray]:
        """The best profile on given sides that is come to from the model's, and the lines that hold it there.

        None, and all lines, where the model has none.
        """
        for stretch in STRETCHES:
            begin = slopes_on_sides(
                self.limits,
                self.obstacles,
                self.told_at,
                passes_under,
                self.entry_m,
                about_m,
                stretch,
                is_shortest=is_shortest,
            )
            if begin is not None:
                rods = rods_along(self.limits, begin)
                return widest(
                    self.limits,
                    self.obstacles,
                    self.told_at,
                    passes_under,
                    rods,
                    is_patient=not is_shortest,
                )
        return None, np.ones(len(passes_under), dtype=bool)


def _least_worth_m(best: Measured | None) -> float:
    """The margin from which on other sides are worth a try."""
    return max(0.0, best.margin_m + WORTH_M) if best is not None and best.keeps_limits else 0.0


def _deciding(sides: np.ndarray, found: Measured | None, holding: np.ndarray) -> np.ndarray:
    """The sides that keep a profile from more margin: of the lines that hold it and are nearest to it."""
    if found is None or not found.keeps_limits:
        return sides
    return np.where(holding & (found.margins_m <= found.margin_m + DECIDING_M), sides, OPEN)
