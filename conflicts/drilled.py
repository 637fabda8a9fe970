"""What was drilled, laid beside the plan: where each rod ended, how sure that is, and how far it is off."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from conflicts.asked_then import AskedThen
from conflicts.crossings import FoundCrossing, find_crossings, judged_as
from conflicts.engine.drilled_path import RawPath, path_through, raw_path, spread
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import project_on
from conflicts.engine.path import BorePath
from conflicts.engine.verdict import Verdict
from conflicts.faults import Fault
from conflicts.head_errors import errors_along, without_rough_dots
from conflicts.hole_passes import HoleSize
from conflicts.rests_on import mark_fault, plan_fault
from conflicts.rod_log import RodInput, RodLog
from conflicts.scene import Scene
from conflicts.site_records import CrossingNow, variance_for_clearance, variance_for_drilled


@dataclass(frozen=True, eq=False)
class DrilledJoint:
    """The end of one rod, where the antenna was.

    Attributes
    ----------
    rod : RodInput
    raw_m, point_m : (3,) float arrays
        East, north, elevation by the readings of pitch and heading alone, and drawn through the fixes.
    station_m : float
        Of the planned bore's point nearest in plan.
    own_station_m : float
        Along the drilled path itself.
    right_m, deeper_m : float
        How far off the plan: to the right facing the exit, and below the planned elevation at that station.
    depth_m : float
        Below the ground there.
    horizontal_error_m, vertical_error_m : float
        What the place may be off by.
    heading_rad : float
        Clockwise from the frame's north; the alignment's where none was read.
    turn_rad : float
        Of this rod, in three dimensions.
    """

    rod: RodInput
    raw_m: FloatArray
    point_m: FloatArray
    station_m: float
    own_station_m: float
    right_m: float
    deeper_m: float
    depth_m: float
    horizontal_error_m: float
    vertical_error_m: float
    heading_rad: float
    turn_rad: float

    @property
    def correction_m(self) -> tuple[float, float]:
        """What the fixes moved it by, in plan and in height."""
        moved = self.point_m - self.raw_m
        return float(np.hypot(moved[0], moved[1])), float(moved[2])


@dataclass(frozen=True, eq=False)
class Drilled:
    """The path that rods were drilled along.

    ``stations_m`` are of the planned bore, at each point of the path. A ``path`` ends at the antenna: the
    bit is ahead of it by what the tool is long.
    """

    path: BorePath
    stations_m: FloatArray
    joints: tuple[DrilledJoint, ...]

    @property
    def head(self) -> DrilledJoint:
        """Where the antenna is now."""
        return self.joints[-1]

    @property
    def drilled_m(self) -> float:
        """Length of the rods in the ground."""
        return sum(joint.rod.length_m for joint in self.joints)

    @property
    def largest_correction_m(self) -> tuple[float, float]:
        """The most that fixes moved a joint in plan, and in height, without sign."""
        moved = [joint.correction_m for joint in self.joints]
        return max(plan for plan, _ in moved), max(abs(height) for _, height in moved)

    def hole_along(self, hole: HoleSize) -> HoleSize:
        """A hole that is told by stations of the plan, by those of this path."""
        planned_m = np.maximum.accumulate(self.stations_m)
        edges = np.interp(hole.edges_m, planned_m, self.path.stations_m)
        return HoleSize(hole.diameters_m, tuple(float(edge) for edge in edges))

    def is_past(self, one: FoundCrossing) -> bool:
        """Whether the path has left the extent of a crossing of it."""
        return one.clearance.to_m < self.path.length_m - 1e-6

    def along_plan_m(self, one: FoundCrossing) -> tuple[float, float, float]:
        """A crossing of the path by stations of the plan: the least, its own, the greatest."""
        figures = one.clearance
        from_m, station_m, to_m = (
            float(np.interp(own_m, self.path.stations_m, self.stations_m))
            for own_m in (figures.from_m, figures.station_m, figures.to_m)
        )
        return min(from_m, to_m, station_m), station_m, max(from_m, to_m, station_m)

    def errors_between(self, low_m: float, high_m: float) -> tuple[float, float]:
        """The greatest errors of the rods between two of the path's own stations, plan and height."""
        begins_m = 0.0
        found = []
        for joint in self.joints:
            if begins_m <= high_m and joint.own_station_m >= low_m:
                found.append(joint)
            begins_m = joint.own_station_m
        found = found or list(self.joints[-1:])
        # A rod lies between two readings: the one at its far end and the one before.
        first = self.joints.index(found[0])
        found = [*self.joints[max(0, first - 1) : first], *found]
        return max(one.horizontal_error_m for one in found), max(one.vertical_error_m for one in found)


def hole_made(scene: Scene) -> HoleSize:
    """How wide the drilled hole counts, by stations of the plan.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    """
    made = scene.inputs.site.made
    return scene.inputs.hole if made is None else made


def drilled_path(scene: Scene, log: RodLog, rods: Sequence[RodInput] | None = None) -> Drilled | None:
    """Where the bore was drilled.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    log : RodLog
    rods : sequence of RodInput, optional
        Others than those in the ground: an abandoned leg with what it was joined to.

    Returns
    -------
    Drilled or None
        None where no rod was drilled.

    Raises
    ------
    PathError
        A rod that turns back on itself.

    Notes
    -----
    By pitch and heading from the planned entry; then moved to the dot in plan and to ground minus depth in
    height, the misclosure spread linearly along the rods between two fixes and held past the last.
    """
    chain = log.rods if rods is None else rods
    if not chain:
        return None
    raw = raw_path(
        scene.plan_m,
        float(scene.path.points_m[0, 2]),
        np.array([rod.length_m for rod in chain]),
        np.array([rod.pitch_ratio for rod in chain]),
        np.array([np.nan if rod.heading_rad is None else rod.heading_rad for rod in chain]),
    )
    in_plan = _moved_in_plan(scene, raw, chain)
    points, joints = _moved_in_height(scene, raw, chain, *in_plan)
    path = path_through(points)
    stations = project_on(path.points_m[:, :2], scene.plan_m)
    return Drilled(path, stations, tuple(_joints(scene, log, raw, joints, chain, points)))


def _moved_in_plan(scene: Scene, raw: RawPath, chain: Sequence[RodInput]) -> tuple[FloatArray, FloatArray]:
    """Points and joints moved through the dots."""
    points, joints = raw.points_m.copy(), raw.joints_m.copy()
    fixed = [index for index, rod in enumerate(chain, start=1) if rod.dot is not None]
    if fixed:
        dots = scene.points_m(tuple(chain[index - 1].dot or (0.0, 0.0) for index in fixed))
        at = raw.lengths_m[fixed]
        for axis in range(2):
            correction = dots[:, axis] - raw.joints_m[fixed, axis]
            points[:, axis] += spread(raw.points_at_m, at, correction)
            joints[:, axis] += spread(raw.lengths_m, at, correction)
    return points, joints


def _moved_in_height(
    scene: Scene, raw: RawPath, chain: Sequence[RodInput], points: FloatArray, joints: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Points and joints moved through ground minus depth; the ground is that beside the moved place."""
    fixed = [index for index, rod in enumerate(chain, start=1) if rod.depth_m is not None]
    if fixed:
        ground = scene.ground.at(project_on(joints[fixed, :2], scene.plan_m))
        read = ground - np.array([chain[index - 1].depth_m for index in fixed], dtype=float)
        correction = read - raw.joints_m[fixed, 2]
        points[:, 2] += spread(raw.points_at_m, raw.lengths_m[fixed], correction)
        joints[:, 2] += spread(raw.lengths_m, raw.lengths_m[fixed], correction)
    return points, joints


def _joints(
    scene: Scene,
    log: RodLog,
    raw: RawPath,
    joints: FloatArray,
    chain: Sequence[RodInput],
    points: FloatArray,
) -> list[DrilledJoint]:
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points[:, :2], axis=0).T))])
    own = np.interp(raw.lengths_m, raw.points_at_m, along)
    stations = project_on(joints[:, :2], scene.plan_m)
    ground = scene.ground.at(stations)
    depths = ground - joints[:, 2]
    _, by_sure = _moved_in_plan(scene, raw, without_rough_dots(log.stated, chain))
    moved_m = np.linalg.norm(joints[1:, :2] - by_sure[1:, :2], axis=1)
    horizontal_m, vertical_m = errors_along(scene, log, chain, depths[1:].tolist(), moved_m)
    found = []
    for index, rod in enumerate(chain, start=1):
        station_m = float(stations[index])
        planned = scene.path.at(station_m)
        found.append(
            DrilledJoint(
                rod=rod,
                raw_m=raw.joints_m[index],
                point_m=joints[index],
                station_m=station_m,
                own_station_m=float(own[index]),
                right_m=right_of_plan_m(scene, station_m, joints[index]),
                deeper_m=float(planned[2] - joints[index, 2]),
                depth_m=float(depths[index]),
                horizontal_error_m=float(horizontal_m[index - 1]),
                vertical_error_m=float(vertical_m[index - 1]),
                heading_rad=float(raw.headings_rad[index]),
                turn_rad=float(raw.turns_rad[index - 1]),
            )
        )
    return found


def right_of_plan_m(scene: Scene, station_m: float, point_m: FloatArray) -> float:
    """Distance from the planned bore in plan, right facing the exit positive; past an end from its line."""
    stations = scene.path.stations_m
    piece = int(np.clip(np.searchsorted(stations, station_m, side="right") - 1, 0, len(stations) - 2))
    ahead = scene.plan_m[piece + 1] - scene.plan_m[piece]
    away = point_m[:2] - scene.path.at(station_m)[:2]
    side = ahead[1] * away[0] - ahead[0] * away[1]
    if not stations[0] < station_m < stations[-1]:
        return float(side / np.hypot(ahead[0], ahead[1]))
    return float(np.copysign(np.hypot(away[0], away[1]), side))


@dataclass(frozen=True, eq=False)
class DrilledCrossing:
    """A crossing of the drilled path, held against the same line as the plan's.

    ``lies`` is the same by stations of the plan, as variances and watches are held against it. ``is_whole``
    says that the head has left the line's tolerance zone for sure; until then the verdict is of what is
    drilled so far. ``answered_by`` is who signed the variance in force for it. ``asked_then`` is what it is
    held to where it is clear by its line's record of now alone.
    """

    crossing: FoundCrossing
    lies: CrossingNow
    station_m: float
    is_whole: bool
    answered_by: str | None
    asked_then: AskedThen | None = None

    @property
    def asked_now_m(self) -> float:
        """Separation that is asked for of the line as it is recorded now."""
        return self.lies.required_m if self.asked_then is None else self.asked_then.required_now_m

    @property
    def records(self) -> tuple[Fault, ...]:
        """The mark and the plan behind it, as they are now."""
        return self.lies.rests_on if self.asked_then is None else self.lies.rests_on[:-1]

    @property
    def excused_by(self) -> str | None:
        """Whose variance lets the crew go on; nobody's where the hole meets the line."""
        return None if self.crossing.verdict is Verdict.OVERLAP else self.answered_by

    @property
    def along_plan(self) -> FoundCrossing:
        """The same crossing by stations of the plan."""
        figures = replace(
            self.crossing.clearance,
            from_m=self.lies.from_m,
            to_m=self.lies.to_m,
            station_m=self.station_m,
        )
        return replace(self.crossing, clearance=figures)

    @property
    def stops(self) -> bool:
        """Whether the crew has to stop: the hole is not clear of the line, and nobody excused it."""
        return not self.crossing.is_clear and self.excused_by is None

    @property
    def is_answered(self) -> bool:
        """Whether somebody answers for it where it is not clear, in a signed variance."""
        return self.crossing.is_clear or self.answered_by is not None


def drilled_crossings(
    scene: Scene, drilled: Drilled, at: datetime, hole: HoleSize | None = None
) -> list[DrilledCrossing]:
    """Every crossing of the drilled path with its locating errors, by station.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    drilled : Drilled
    at : datetime
        At which variances count.
    hole : HoleSize or None
        By stations of the plan; None where it is as wide as the passes made it.
    """
    found = find_crossings(
        replace(scene.among_all_lines(), path=drilled.path),
        drilled.errors_between,
        drilled.hole_along(hole_made(scene) if hole is None else hole),
    )
    plan = plan_fault(scene.inputs)
    return [
        _drilled_crossing(scene, drilled, one, plan, at) for one in _half_as_planned(scene, drilled, found)
    ]


def _half_as_planned(scene: Scene, drilled: Drilled, found: Sequence[FoundCrossing]) -> list[FoundCrossing]:
    """Crossings of which those that the path ends in are judged as the planned ones of their lines there."""
    half = {id(one) for one in found if not drilled.is_past(one)}
    if not half:
        return list(found)
    lines = {one.mark.mark_id: one.line for one in found if id(one) in half}
    planned = find_crossings(replace(scene, lines=tuple(lines.values())))
    judged = []
    for one in found:
        low_m, station_m, high_m = drilled.along_plan_m(one)
        near = [
            (abs(it.clearance.station_m - station_m), place)
            for place, it in enumerate(planned)
            if it.mark.mark_id == one.mark.mark_id
            and it.clearance.from_m <= high_m
            and it.clearance.to_m >= low_m
        ]
        is_judged = id(one) in half and near
        judged.append(judged_as(scene, one, planned[min(near)[1]]) if is_judged else one)
    return judged


def _drilled_crossing(
    scene: Scene, drilled: Drilled, one: FoundCrossing, plan: Fault, at: datetime
) -> DrilledCrossing:
    figures = one.clearance
    low_m, station_m, high_m = drilled.along_plan_m(one)
    now = CrossingNow(
        one.mark.mark_id,
        figures.kind,
        low_m,
        high_m,
        str(one.verdict),
        figures.worst_case_m,
        one.required_m,
        (mark_fault(one.mark), plan),
    )
    return DrilledCrossing(one, now, station_m, drilled.is_past(one), answering(scene, now, at))


def answering(scene: Scene, now: CrossingNow, at: datetime) -> str | None:
    """Who signed a variance in force for a crossing of the drilled path; None where nobody did.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    now : CrossingNow
        By stations of the plan.
    at : datetime
    """
    site = scene.inputs.site
    variance = variance_for_drilled(site, now, at) or variance_for_clearance(site, now, at)
    return None if variance is None else variance.signed_by
