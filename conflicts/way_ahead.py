"""The way ahead of the head: the plan that it follows from where it is, and what it meets there."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from conflicts.bit_ahead import bit_ahead, lead_m
from conflicts.crossings import FoundCrossing, find_crossings
from conflicts.drilled import DrilledJoint
from conflicts.engine.clearance import Allowances, past_allowance_m
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.engine.lookahead import LineAhead, Side
from conflicts.engine.path import BorePath, distinct_points
from conflicts.engine.profile_lines import BLOCKED_M, KeptAway, UnknownDepth, error_terms
from conflicts.engine.reach import STEEPEST_RATIO, Head, LevelTurn, Rig
from conflicts.head_errors import PITCH_READ_RATIO
from conflicts.hole_passes import HoleSize
from conflicts.inputs import RigInput
from conflicts.rod_log import LocatingError
from conflicts.scene import Scene
from conflicts.sentences import line_name

# A head that points farther off the plan than this has no plan to follow.
FARTHEST_OFF_RAD = 0.25 * np.pi
# The head is turned back beside the plan with half of the bend, so that most is left for the pitch.
TURNED_BACK = 0.5
# Points on the way ahead where it turns, m.
STEP_M = 0.25
# Less than this of the bore ahead is none, m.
LEAST_AHEAD_M = 0.01


@dataclass(frozen=True, eq=False)
class WayAhead:
    """The plan that the bore follows from a joint on: beside the planned one, as far off as it is then.

    Attributes
    ----------
    path : BorePath
        Its stations are runs from the joint; its elevations are planned ones.
    stations_m : (n,) float array
        Of the planned bore, at each of its points.
    level_turns : tuple of LevelTurn
    """

    path: BorePath
    stations_m: FloatArray
    level_turns: tuple[LevelTurn, ...]

    def station_m(self, run_m: float) -> float:
        """The planned bore's station at a run."""
        return float(np.interp(run_m, self.path.stations_m, self.stations_m))


@dataclass(frozen=True, eq=False)
class Planned:
    """The planned crossings by station, with what is asked of each: less than required under a variance."""

    crossings: Sequence[FoundCrossing]
    asked_m: Sequence[float]


def rig_of(recorded: RigInput) -> Rig | None:
    """The rig as the look-ahead takes it; None where rod length or bend radius are not recorded."""
    if recorded.rod_length_m is None or recorded.bend_radius_m is None:
        return None
    ends = [
        abs(one)
        for one in (
            recorded.entry_pitch_ratio_min,
            recorded.entry_pitch_ratio_max,
            recorded.exit_pitch_ratio_min,
            recorded.exit_pitch_ratio_max,
        )
        if one
    ]
    return Rig(
        recorded.rod_length_m,
        recorded.bend_radius_m,
        min(STEEPEST_RATIO, max(ends, default=1.0)),
        lead_m(recorded),
    )


def way_ahead(scene: Scene, joint: DrilledJoint, rig: Rig) -> WayAhead | None:
    """The plan that the bore follows from a joint on.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    joint : DrilledJoint
    rig : Rig

    Returns
    -------
    WayAhead or None
        None where nothing of the planned bore lies ahead, or the head points so far off that none follows.

    Notes
    -----
    The way goes on straight to the bit. There the heading is turned back beside the planned one on an arc of
    `TURNED_BACK` of the bend, then the way stays as far beside the plan as it is then. That is one way that
    the rig can steer, so what can be reached from it can be reached.
    """
    end_m = scene.path.length_m
    if end_m - joint.station_m < LEAST_AHEAD_M:
        return None
    bit = bit_ahead(scene, joint)
    off_rad = off_plan_rad(scene, joint)
    if abs(off_rad) > FARTHEST_OFF_RAD:
        return None
    radius_m = rig.bend_radius_m / TURNED_BACK
    left_rad = np.linspace(abs(off_rad), 0.0, int(np.ceil(radius_m * abs(off_rad) / STEP_M)) + 1)
    along = bit.station_m + radius_m * (np.sin(abs(off_rad)) - np.sin(left_rad))
    right = bit.right_m + np.sign(off_rad) * radius_m * (np.cos(left_rad) - np.cos(off_rad))
    vertices = scene.path.stations_m[scene.path.stations_m > along[-1] + LEAST_AHEAD_M]
    counts = along < end_m
    # The bit counts though it is past the exit: what lies up to there is drilled.
    counts[0] = True
    stations = np.concatenate([[joint.station_m], along[counts], vertices])
    offsets = np.concatenate([[joint.right_m], right[counts], np.full(len(vertices), right[-1])])
    points = _beside(scene, stations, offsets)
    points[0, :2], points[1, :2] = joint.point_m[:2], bit.point_m[:2]
    runs = chainages_m(points[:, :2])
    keep = np.concatenate([[True], np.diff(runs) > 1e-9])
    turns = level_turns(points[keep, :2], rig, float(np.hypot(*(bit.point_m - joint.point_m)[:2])))
    return WayAhead(BorePath(runs[keep], points[keep]), stations[keep], turns)


def off_plan_rad(scene: Scene, joint: DrilledJoint) -> float:
    """How far the bit points off the planned bore beside it, to the right positive."""
    return _wrapped(joint.heading_rad - _heading_rad(scene, bit_ahead(scene, joint).station_m))


def planned_pitch_ratio(scene: Scene, station_m: float) -> float:
    """Rise over run of the planned bore at a station, its last piece's past the end."""
    stations, heights = scene.path.stations_m, scene.path.points_m[:, 2]
    piece = int(np.clip(np.searchsorted(stations, station_m, side="right") - 1, 0, len(stations) - 2))
    return float((heights[piece + 1] - heights[piece]) / (stations[piece + 1] - stations[piece]))


def planned_after_ratio(scene: Scene, joint: DrilledJoint, rig: Rig) -> float:
    """Rise over run of the planned bore where the next rod from a joint ends."""
    run_m = rig.rod_length_m / float(np.hypot(1.0, joint.rod.pitch_ratio))
    return planned_pitch_ratio(scene, joint.station_m + run_m)


def met(scene: Scene, way: WayAhead, joint: DrilledJoint) -> list[FoundCrossing]:
    """The crossings of a way ahead from a joint, at the planned elevations, as far off as that may be."""
    return find_crossings(
        replace(scene, path=way.path),
        # Its stations begin at the head: the widest counts all along.
        hole=HoleSize((scene.inputs.hole.widest_m,)),
        farther_m=past_allowance_m(scene.inputs.job.bore_horizontal_m, joint.horizontal_error_m),
    )


def head_at(joint: DrilledJoint) -> Head:
    """The head at a joint, with what its pitch may be read wrong by."""
    return Head(float(joint.point_m[2]), float(np.arctan(joint.rod.pitch_ratio)), PITCH_READ_RATIO)


def line_ahead(
    scene: Scene,
    planned: Planned,
    way: WayAhead,
    crossing: FoundCrossing,
    joint: DrilledJoint,
    stated: LocatingError,
) -> tuple[LineAhead, int | None, float]:
    """A crossing as the look-ahead takes it, its place among the planned ones, and what is required."""
    figures, job = crossing.clearance, scene.inputs.job
    low, high = way.station_m(figures.from_m), way.station_m(figures.to_m)
    place = _planned_place(planned, crossing, low, high)
    # Where the plan meets the line too, its figure counts: half passed, a crossing looks like one alongside.
    known = crossing if place is None else planned.crossings[place]
    required_m = crossing.required_m if place is None else planned.asked_m[place]
    passes = known.clearance.passes
    at_m = way.station_m(figures.station_m)
    name = line_name(crossing.mark.operator, crossing.mark.ref)
    if crossing.line.line.depth_is_known:
        depth_m = float(scene.ground.at(at_m) - scene.path.at(at_m)[2])
        allowances = Allowances(
            tolerance_zone_m=job.tolerance_zone_m,
            reach_m=job.reach_m,
            bore_horizontal_m=joint.horizontal_error_m,
            bore_vertical_m=max(joint.vertical_error_m, stated.at(depth_m)),
            slope_ratio=job.slope_ratio,
        )
        accuracy = crossing.mark.horizontal_accuracy_m
        terms = error_terms(scene.bore_radius_m, crossing.line.line, allowances, accuracy)
        obstacle: KeptAway | UnknownDepth = KeptAway(
            name,
            figures.from_m,
            figures.to_m,
            required_m,
            way.path.points_m[:, :2],
            0.0,
            crossing.line.line,
            terms,
        )
    else:
        obstacle = UnknownDepth(name, figures.from_m, figures.to_m, scene.ground, BLOCKED_M)
    cover_m = scene.inputs.rig.minimum_cover_m
    ceiling_m = np.inf
    if cover_m is not None:
        ceiling_m = float(scene.ground.at(at_m)) - cover_m - scene.bore_radius_m
    line = LineAhead(
        obstacle,
        figures.station_m,
        crossing.line.line.depth_is_known,
        None if passes is None else Side(passes),
        ceiling_m,
    )
    return line, place, required_m


def _planned_place(planned: Planned, crossing: FoundCrossing, low_m: float, high_m: float) -> int | None:
    """The planned crossing of the same line whose extent meets that between two stations, the nearest."""
    middle = 0.5 * (low_m + high_m)
    near = [
        (abs(one.clearance.station_m - middle), place)
        for place, one in enumerate(planned.crossings)
        if one.mark.mark_id == crossing.mark.mark_id
        and one.clearance.from_m <= high_m
        and one.clearance.to_m >= low_m
    ]
    return min(near)[1] if near else None


def _beside(scene: Scene, stations_m: FloatArray, offsets_m: FloatArray) -> FloatArray:
    """Points beside the planned bore at its elevations, offsets positive to the right facing the exit."""
    path = scene.path
    points = np.column_stack([np.interp(stations_m, path.stations_m, path.points_m[:, k]) for k in range(3)])
    ahead = np.diff(scene.plan_m, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    # At a bend the way keeps its distance from both pieces: half-way between them, and that much farther.
    before = np.clip(np.searchsorted(path.stations_m, stations_m, side="left") - 1, 0, len(ahead) - 1)
    after = np.clip(np.searchsorted(path.stations_m, stations_m, side="right") - 1, 0, len(ahead) - 1)
    middle = ahead[before] + ahead[after]
    middle /= np.linalg.norm(middle, axis=1)[:, None]
    spread = offsets_m / np.einsum("ij,ij->i", middle, ahead[before])
    points[:, 0] += spread * middle[:, 1]
    points[:, 1] -= spread * middle[:, 0]
    return points


def _heading_rad(scene: Scene, station_m: float) -> float:
    stations = scene.path.stations_m
    piece = int(np.clip(np.searchsorted(stations, station_m, side="right") - 1, 0, len(stations) - 2))
    step = scene.plan_m[piece + 1] - scene.plan_m[piece]
    return float(np.arctan2(step[0], step[1]))


def _wrapped(angle_rad: float) -> float:
    return float((angle_rad + np.pi) % (2.0 * np.pi) - np.pi)


def level_turns(plan_m: FloatArray, rig: Rig, bit_m: float) -> tuple[LevelTurn, ...]:
    """What a way turns in plan, rod by rod from the bit on: a bend is spread over the rod that it is in.

    Parameters
    ----------
    plan_m : (n, 2) float array
        From the antenna on.
    rig : Rig
    bit_m : float
        Run from there to the bit.
    """
    plan = distinct_points(plan_m)
    steps = np.diff(plan, axis=0)
    headings = np.arctan2(steps[:, 0], steps[:, 1])
    turns = np.abs((np.diff(headings) + np.pi) % (2.0 * np.pi) - np.pi)
    past_bit_m = np.maximum(0.0, chainages_m(plan)[1:-1] - bit_m)
    rods = np.floor(past_bit_m / rig.rod_length_m).astype(int)
    by_rod = np.bincount(rods, turns) if len(rods) else np.empty(0)
    return tuple(
        LevelTurn(from_m, from_m + rig.rod_length_m, float(turn) / rig.rod_length_m)
        for from_m, turn in zip(bit_m + rig.rod_length_m * np.arange(len(by_rod)), by_rod, strict=True)
        if turn > 1e-9
    )
