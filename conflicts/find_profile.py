"""Find a profile for a bore: gather, search, and hold what was found against the project's own clearances."""

from dataclasses import replace
from uuid import UUID

import numpy as np

from conflicts.crossings import find_crossings
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.engine.path import Ground, Rods, path_of_rods
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.profile_conflict import smallest_conflict
from conflicts.engine.profile_limits import Range
from conflicts.engine.profile_search import Search, margin_bound_m, search_profile
from conflicts.gather_plan import gather_to_plan
from conflicts.planned_profile import PlannedProfile
from conflicts.profile_check import profile_faults
from conflicts.profile_demands import FARTHEST_BACK_M, Demands, ProfileWishes, demands_of
from conflicts.profile_relax import relaxations
from conflicts.scene import Scene, lay_out

# How far behind the recorded entry lines are read: as far as the rig may be moved back, and a stretch of it.
BEHIND_M = 2.0 * FARTHEST_BACK_M
# How often the stretch that must be covered is taken from the profile found before.
COVER_ROUNDS = 3


def find_profile(bore_id: UUID, wishes: ProfileWishes, *, with_bound: bool = False) -> PlannedProfile:
    """Search the profile of a bore from the records as they are now.

    Parameters
    ----------
    bore_id : UUID
    wishes : ProfileWishes
    with_bound : bool
        Whether a margin is looked for that is proven to be out of reach.

    Raises
    ------
    EngineError
        Records that no profile can be searched from, or a search without an answer.
    """
    data = gather_to_plan(bore_id, BEHIND_M)
    carried_back = lay_out(data.carried_back)
    demands = demands_of(lay_out(data.recorded), carried_back, data.behind_m, wishes)
    demands, search = _searched(demands)
    ground = demands.limits.ground
    if search.found is None:
        return PlannedProfile(
            inputs=data.recorded,
            demands=demands,
            rods=None,
            ground=ground,
            is_proven=search.is_proven,
            conflict=smallest_conflict(demands.limits, demands.obstacles) if search.is_proven else None,
            relaxations=tuple(relaxations(demands)),
        )
    rods = search.found.rods
    scene = drawn(carried_back, data.behind_m, rods)
    bound_m = margin_bound_m(demands.limits, demands.obstacles, search.found.margin_m) if with_bound else None
    return PlannedProfile(
        inputs=data.recorded,
        demands=demands,
        rods=rods,
        ground=ground,
        crossings=tuple(find_crossings(scene)),
        faults=tuple(profile_faults(scene)),
        no_margin_above_m=bound_m,
    )


def _searched(demands: Demands) -> tuple[Demands, Search]:
    """The search, its cover asked wherever the profile found lies between having it first and last."""
    for _ in range(COVER_ROUNDS):
        search = search_profile(demands.limits, demands.obstacles)
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
    has_it = cover_m >= limits.minimum_cover_m - 1e-3
    reached = np.flatnonzero(has_it)
    if len(reached) == 0 or has_it[reached[0] : reached[-1] + 1].all():
        return limits.covered_m
    return Range(
        min(limits.covered_m.least, float(stations[reached[0]])),
        max(limits.covered_m.greatest, float(stations[reached[-1]])),
    )


def drawn(carried_back: Scene, behind_m: float, rods: RodProfile) -> Scene:
    """A scene with a profile that was found drawn into it, its stations from the profile's own entry.

    Parameters
    ----------
    carried_back : Scene
    behind_m : float
        How far its alignment begins behind the recorded entry.
    rods : RodProfile
    """
    entry_m = behind_m + rods.entry_station_m
    alignment = _from(carried_back.alignment_m, entry_m)
    plan = Rods(
        rods.entry_elevation_m,
        np.concatenate([[0.0], rods.lengths_m]),
        np.tan(rods.angles_rad),
        np.full(len(rods.angles_rad), np.nan),
    )
    ground = carried_back.ground
    return replace(
        carried_back,
        alignment_m=alignment,
        path=path_of_rods(alignment, plan),
        ground=Ground(ground.stations_m - entry_m, ground.elevations_m),
        rods=plan,
    )


def _from(alignment_m: FloatArray, station_m: float) -> FloatArray:
    """An alignment from a station of it on."""
    chainage = chainages_m(alignment_m)
    begin = [float(np.interp(station_m, chainage, alignment_m[:, axis])) for axis in range(2)]
    return np.vstack([[begin], alignment_m[chainage > station_m + 1e-9]])
