"""A profile planned anew while rods are in the ground: it begins at the bit and joins what is drilled."""

from dataclasses import dataclass, replace

import numpy as np

from conflicts.bit_ahead import Bit, bit_ahead
from conflicts.drilled import Drilled, drilled_path
from conflicts.engine.clearance import past_allowance_m
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.profile_limits import ProfileLimits, Range
from conflicts.engine.profile_lines import KeptAway, UnknownDepth
from conflicts.engine.reach import Head, Rig, steered
from conflicts.engine.rods_through import Readings, rods_through
from conflicts.inputs import JobInput
from conflicts.moved_ground import SAME_PLACE_M
from conflicts.profile_demands import (
    HERE,
    LONGEST_RUN_RATIO,
    DemandError,
    Demands,
    LineAhead,
    ProfileWishes,
    demands_of,
)
from conflicts.rod_log import RodLog
from conflicts.scene import Scene
from conflicts.way_ahead import TURNED_BACK, WayAhead, off_plan_rad, rig_of, way_ahead

# A profile whose joint lies at the same place and points no farther from the bit's pitch begins there.
SAME_PITCH_RATIO = 0.001
# Less than this of the bore ahead of the bit is none, m.
LEAST_LEFT_M = 0.5
# A cover that the bit has lost is gained again within so many times the shortest run to it, and a rod (common
# practice, no source).
GAINED_WITHIN = 2.0


@dataclass(frozen=True, eq=False)
class HeadStart:
    """What is drilled, as the beginning of a profile.

    Attributes
    ----------
    drilled : Drilled
    bit : Bit
    rods : RodProfile
        From the planned entry to the bit, as many as are in the ground.
    """

    drilled: Drilled
    bit: Bit
    rods: RodProfile

    @property
    def count(self) -> int:
        """How many rods are in the ground."""
        return len(self.rods.lengths_m)

    @property
    def pitch_ratio(self) -> float:
        """As it was read last."""
        return self.drilled.head.rod.pitch_ratio

    def farther_m(self, job: JobInput) -> float:
        """How much farther lines are looked for from the head on, for so much less sure is it than the plan.

        Parameters
        ----------
        job : JobInput
            With the steering allowances.
        """
        return past_allowance_m(job.bore_horizontal_m, self.drilled.head.horizontal_error_m)

    def joined(self, found: RodProfile) -> RodProfile:
        """What is drilled with a profile behind it whose first rod ends at the bit."""
        return RodProfile(
            0.0,
            self.rods.entry_elevation_m,
            np.concatenate([self.rods.lengths_m, found.lengths_m[1:]]),
            np.concatenate([self.rods.angles_rad, found.angles_rad[2:]]),
        )

    def is_kept_by(self, given: RodProfile) -> bool:
        """Whether a profile goes through the bit as it lies and points now, after as many rods."""
        if len(given.lengths_m) < self.count:
            return False
        stations, elevations = given.joints_m()
        off_m = (stations[self.count] - self.bit.station_m, elevations[self.count] - self.bit.point_m[2])
        off_ratio = float(np.tan(given.angles_rad[self.count])) - self.pitch_ratio
        return float(np.abs(off_m).max()) < SAME_PLACE_M and abs(off_ratio) < SAME_PITCH_RATIO


def head_start(scene: Scene, log: RodLog) -> HeadStart | None:
    """What is drilled, as the beginning of a profile; None where no rod is in the ground.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    log : RodLog

    Raises
    ------
    PathError
        Rods that no path can be built from.
    """
    drilled = drilled_path(scene, log)
    if drilled is None:
        return None
    bit = bit_ahead(scene, drilled.head)
    joints = drilled.joints
    lengths = np.array([joint.rod.length_m for joint in joints])
    lengths[-1] += bit.lead_m
    read = Readings(
        entry_elevation_m=float(scene.path.points_m[0, 2]),
        lengths_m=lengths,
        angles_rad=np.arctan([joint.rod.pitch_ratio for joint in joints]),
        elevations_m=np.array([float(joint.point_m[2]) for joint in joints[:-1]]),
        sigmas_m=np.array([joint.vertical_error_m for joint in joints[:-1]]),
        end_m=(bit.station_m, float(bit.point_m[2])),
    )
    return HeadStart(drilled, bit, rods_through(read))


def demands_from_head(
    recorded: Scene, carried_back: Scene, behind_m: float, wishes: ProfileWishes, head: HeadStart
) -> Demands:
    """What the rest of a profile must keep, from the bit on.

    Parameters
    ----------
    recorded, carried_back : Scene
        As for `demands_of`; the second with the job of `as_located`.
    behind_m : float
    wishes : ProfileWishes
        Without any of the entry or the place of the rig.
    head : HeadStart

    Raises
    ------
    DemandError
        As `demands_of`; and wishes of an entry that is drilled.

    Notes
    -----
    The search keeps its first rod straight. So it begins a rod behind the bit, in line with it: that rod is
    drilled, ends at the bit with the pitch that was read, and nothing is asked of it.
    """
    if wishes.entry_depth_m is not None or wishes.rig_station_m != HERE:
        raise DemandError(
            "rods are in the ground, so the profile begins at the bit: neither a depth at the entry nor a "
            "place of the rig can be asked for"
        )
    bit, angle = head.bit, float(head.rods.angles_rad[-1])
    if recorded.path.length_m - bit.station_m < LEAST_LEFT_M:
        raise DemandError("the bit is at the exit: nothing is left to plan")
    back_m = (recorded.inputs.rig.rod_length_m or 0.0) * np.array([np.cos(angle), np.sin(angle)])
    start_m = bit.station_m - float(back_m[0])
    depth_m = float(recorded.ground.at(start_m) - (bit.point_m[2] - back_m[1]))
    wished = replace(wishes, entry_depth_m=Range(depth_m, depth_m), rig_station_m=Range(start_m, start_m))
    among_all, farther_m = carried_back.among_all_lines(), head.farther_m(recorded.inputs.job)
    demands = demands_of(recorded, among_all, behind_m, wished, farther_m)
    limits, pitch = demands.limits, head.pitch_ratio
    covered_m = _covered_from_m(limits, head)
    bends = tuple(one for one in limits.plan_bends if one[0] > bit.station_m)
    limits = replace(
        limits,
        entry_pitch_ratio=Range(pitch, pitch),
        steepest_pitch_ratio=max(limits.steepest_pitch_ratio, abs(pitch)),
        covered_m=Range(covered_m, max(covered_m, limits.covered_m.greatest)),
        plan_bends=(*_turned_back(recorded, head, limits), *bends),
    )
    lines = tuple(one.begun_in(HERE) for one in _ahead_of(demands, bit.station_m))
    return Demands(limits, lines, begins_at_bit=True)


def _covered_from_m(limits: ProfileLimits, head: HeadStart) -> float:
    """The station from which the cover is asked: the bit's, or past it where it has to be gained first."""
    bit, angle = head.bit, float(head.rods.angles_rad[-1])
    missing_m = limits.minimum_cover_m + limits.hole_radius_m - bit.depth_m
    if missing_m <= 0.0:
        return bit.station_m
    runs = np.arange(0.0, LONGEST_RUN_RATIO * (limits.length_m - bit.station_m), 0.1)
    down = steered(Head(0.0, angle), Rig(limits.rod_length_m, limits.bend_radius_m), -1).at(runs)
    gained = runs[down <= -missing_m]
    least_m = float(gained[0]) if len(gained) else float(runs[-1])
    return bit.station_m + min(float(runs[-1]), GAINED_WITHIN * least_m + limits.rod_length_m)


def as_located(recorded: Scene, head: HeadStart) -> JobInput:
    """The job with the errors of a bore that goes on from where its head was located.

    Parameters
    ----------
    recorded : Scene
    head : HeadStart

    Raises
    ------
    DemandError
        A head from which no planned way leads on.

    Notes
    -----
    How far the way ahead lies beside the alignment counts as an error in plan, and so much farther lines are
    looked for: the profile is drawn along the alignment, and the hole may lie anywhere up to there. What the
    head is less sure than the plan comes on top of that, as `HeadStart.farther_m`.
    """
    job, joint = recorded.inputs.job, head.drilled.head
    aside_m = 0.0
    rig = rig_of(recorded.inputs.rig)
    if rig is not None:
        way = way_ahead(recorded, joint, rig)
        if way is None:
            raise DemandError(
                "from the head no planned way leads on: it is at the exit, or points away from the alignment"
            )
        aside_m = _aside_m(recorded, way)
    return replace(
        job,
        tolerance_zone_m=job.tolerance_zone_m + aside_m,
        bore_horizontal_m=max(job.bore_horizontal_m, joint.horizontal_error_m + aside_m),
        bore_vertical_m=max(job.bore_vertical_m, joint.vertical_error_m),
    )


def _aside_m(scene: Scene, way: WayAhead) -> float:
    """The farthest that a way lies beside the planned bore in plan."""
    planned = [np.interp(way.stations_m, scene.path.stations_m, scene.plan_m[:, axis]) for axis in range(2)]
    return float(np.hypot(*(way.path.points_m[:, :2].T - np.array(planned))).max())


def _turned_back(scene: Scene, head: HeadStart, limits: ProfileLimits) -> tuple[tuple[float, float], ...]:
    """What the way turns in plan until it lies along the alignment, a rod after the other from the bit on."""
    left_rad = abs(off_plan_rad(scene, head.drilled.head))
    most_rad = TURNED_BACK * limits.rod_length_m / limits.bend_radius_m
    run_m = limits.rod_length_m / float(np.hypot(1.0, head.pitch_ratio))
    turns: list[tuple[float, float]] = []
    while left_rad > 1e-9:
        turns.append((head.bit.station_m + (len(turns) + 0.5) * run_m, min(most_rad, left_rad)))
        left_rad -= most_rad
    return tuple(turns)


def _ahead_of(demands: Demands, station_m: float) -> tuple[LineAhead, ...]:
    """The lines past a station, each from there on."""
    found = []
    for one in demands.lines:
        if one.to_m > station_m:
            first = max(one.from_m, station_m)
            obstacle = one.obstacle
            if isinstance(obstacle, KeptAway | UnknownDepth):
                obstacle = replace(obstacle, from_m=first)
            found.append(replace(one, from_m=first, obstacle=obstacle))
    return tuple(found)
