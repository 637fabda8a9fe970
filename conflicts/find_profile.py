"""Find a profile for a bore: gather, search, and hold what was found against the project's own clearances."""

import time
from collections.abc import Callable
from dataclasses import replace
from uuid import UUID

import numpy as np

from conflicts.crossings import FoundCrossing, find_crossings
from conflicts.engine.errors import OutOfTimeError
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.engine.path import Ground, Rods, path_of_rods
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.profile_conflict import smallest_conflict
from conflicts.engine.profile_search import in_any_time
from conflicts.gather_plan import ToPlan, gather_to_plan
from conflicts.head_start import HeadStart, as_located, demands_from_head, head_start
from conflicts.inputs import BoreInputs, JobInput, RigInput
from conflicts.planned_profile import PlannedProfile
from conflicts.profile_check import profile_faults
from conflicts.profile_demands import FARTHEST_BACK_M, Demands, ProfileWishes, demands_of
from conflicts.profile_relax import Relaxation, relaxations
from conflicts.profile_stretches import bound_m, search_stretch
from conflicts.scene import Scene, lay_out

# How far behind the recorded entry lines are read: as far as the rig may be moved back, and a stretch of it.
BEHIND_M = 2.0 * FARTHEST_BACK_M


def read_to_plan(bore_id: UUID) -> ToPlan:
    """What profiles of a bore are searched and measured from, as the records are now.

    Raises
    ------
    UnassessableError
        A job without any tolerance zone.
    """
    return gather_to_plan(bore_id, BEHIND_M)


def find_profile(
    bore_id: UUID,
    wishes: ProfileWishes,
    *,
    rig: RigInput | None = None,
    with_bound: bool = False,
    most_s: float | None = None,
) -> PlannedProfile:
    """Search the profile of a bore from the records as they are now.

    Parameters
    ----------
    bore_id : UUID
    wishes : ProfileWishes
    rig : RigInput or None
        Limits to plan with instead of those recorded. What is found is held against the recorded ones.
    with_bound : bool
        Whether a margin is looked for that is proven to be out of reach.
    most_s : float or None
        How long it may compute; None for as long as it takes.

    Raises
    ------
    EngineError
        Records that no profile can be searched from, or a search without an answer; `OutOfTimeError` where
        the time was over before one.
    """
    data = read_to_plan(bore_id)
    keep_time = in_any_time if most_s is None else _time_keeper(most_s)
    carried_back = lay_out(data.carried_back)
    planned = lay_out(data.recorded if rig is None else _with_rig(data.recorded, rig))
    head = head_start(planned, data.log)
    if head is None:
        located_job = None
        demands = demands_of(planned, carried_back, data.behind_m, wishes)
    else:
        located_job = as_located(planned, head)
        located = replace(data.carried_back, job=located_job)
        demands = demands_from_head(planned, lay_out(located), data.behind_m, wishes, head)
    whole = demands
    demands, search = search_stretch(whole, keep_time)
    ground = demands.limits.ground
    if search.found is None:
        relaxed, is_cut_short = _relaxed(whole, keep_time)
        return PlannedProfile(
            inputs=data.recorded,
            demands=demands,
            rods=None,
            ground=ground,
            is_proven=search.is_proven,
            conflict=smallest_conflict(demands.limits, demands.obstacles) if search.is_proven else None,
            relaxations=relaxed,
            is_cut_short=is_cut_short,
            head=head,
        )
    rods = search.found.rods if head is None else head.joined(search.found.rods)
    given = measured_profile(data, carried_back, rods, head, located_job)
    # From the bit the errors searched with are those of the head, and a bound would be one on other margins.
    asks = with_bound and head is None
    out_of_reach_m = bound_m(whole, search.found.margin_m) if asks else None
    return replace(given, demands=demands, no_margin_above_m=out_of_reach_m)


def _with_rig(recorded: BoreInputs, rig: RigInput) -> BoreInputs:
    """A bore with other limits of its rig; how far its bit is ahead stays."""
    return replace(recorded, rig=replace(rig, bit_lead_m=recorded.rig.bit_lead_m))


def measured_profile(
    data: ToPlan,
    carried_back: Scene,
    rods: RodProfile,
    head: HeadStart | None = None,
    located_job: JobInput | None = None,
) -> PlannedProfile:
    """A profile that somebody gave, held against the lines and the recorded limits as if it were planned.

    Parameters
    ----------
    data : ToPlan
    carried_back : Scene
        Of its bore carried straight back.
    rods : RodProfile
    head : HeadStart or None
        What is drilled.
    located_job : JobInput or None
        The job `as_located`: with its errors the lines past the bit are told.
    """
    scene = drawn(carried_back, data.behind_m, rods)
    ground = carried_back.ground
    return PlannedProfile(
        inputs=data.recorded,
        demands=None,
        rods=rods,
        ground=Ground(ground.stations_m - data.behind_m, ground.elevations_m),
        scene=scene,
        crossings=_crossings_from_head(scene, head, located_job),
        faults=tuple(profile_faults(scene)),
        head=head,
    )


def _crossings_from_head(
    scene: Scene, head: HeadStart | None, located_job: JobInput | None
) -> tuple[FoundCrossing, ...]:
    """The crossings of a profile, past the bit with what its way from there may be off by."""
    planned = find_crossings(scene)
    if head is None or located_job is None:
        return tuple(planned)
    located = replace(scene.among_all_lines(), inputs=replace(scene.inputs, job=located_job))
    met = find_crossings(located, farther_m=head.farther_m(scene.inputs.job))
    ahead = [one for one in met if one.clearance.to_m > head.bit.station_m]
    behind = [one for one in planned if not any(_is_within(one, other) for other in ahead)]
    behind = [one for one in behind if one.clearance.to_m <= head.bit.station_m]
    return tuple(sorted([*behind, *ahead], key=lambda one: (one.clearance.station_m, one.mark.ref)))


def _is_within(one: FoundCrossing, other: FoundCrossing) -> bool:
    """Whether a crossing is part of a wider one with the same line."""
    first, last = one.clearance, other.clearance
    return one.line is other.line and first.from_m <= last.to_m and first.to_m >= last.from_m


def _time_keeper(most_s: float) -> Callable[[], None]:
    """What raises once this thread has computed for so long, whatever else the machine has to do."""
    until = time.thread_time() + most_s

    def keep_time() -> None:
        if time.thread_time() > until:
            raise OutOfTimeError(f"the search was stopped after {most_s:g} s of computing without an answer")

    return keep_time


def _relaxed(demands: Demands, keep_time: Callable[[], None]) -> tuple[tuple[Relaxation, ...], bool]:
    """The relaxations found in time, and whether the time was over before all were tried."""
    found = []
    try:
        for one in relaxations(demands, keep_time):
            found.append(one)
    except OutOfTimeError:
        return tuple(found), True
    return tuple(found), False


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
