"""Whether the head can still come to the planned exit, in height and in plan, and how far to pull back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from conflicts.ahead_lengths import rough_length
from conflicts.drilled import DrilledJoint
from conflicts.engine.frame import FloatArray
from conflicts.engine.lookahead import LineAhead, Side
from conflicts.engine.profile_limits import ForbiddenBand
from conflicts.engine.reach import (
    Head,
    LevelTurn,
    ReachedBand,
    Rig,
    bit_run_m,
    reachable_elevations,
)
from conflicts.head_errors import HEADING_READ_RAD, HEADING_UNREAD_RAD
from conflicts.rod_log import LocatingError
from conflicts.scene import Scene
from conflicts.way_ahead import WayAhead, head_at, level_turns, off_plan_rad, way_ahead

# Parts of the bend that are tried for the plan, the rest being left for the height: next to none, and the
# sines of even angles up to a right one.
SHARES = (0.01, *np.sin(np.radians([15.0, 30.0, 45.0, 60.0, 75.0, 90.0])).tolist())


@dataclass(frozen=True, eq=False)
class Exit:
    """The planned end of the bore: the surface, a pit, an open hole or the end of another bore.

    Attributes
    ----------
    point_m : (3,) float array
        East, north, elevation.
    ahead : (2,) float array
        The way the plan points there, of length 1.
    allowed_plan_m, allowed_height_m : float
        How far from it the hole may end.
    """

    point_m: FloatArray
    ahead: FloatArray
    allowed_plan_m: float
    allowed_height_m: float

    def past_m(self, points_m: FloatArray) -> FloatArray:
        """How far (n, 2 or more) points lie past the end, along the plan; below 0 before it."""
        return np.asarray((points_m[:, :2] - self.point_m[:2]) @ self.ahead)

    def right_m(self, point_m: FloatArray) -> float:
        """How far a point lies to the right of the plan's last piece, facing the exit."""
        away = point_m[:2] - self.point_m[:2]
        return float(away[0] * self.ahead[1] - away[1] * self.ahead[0])


def exit_of(scene: Scene, stated: LocatingError) -> Exit:
    """The planned end of a bore, with what is allowed there.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    stated : LocatingError
        What the job states of a located head.

    Notes
    -----
    Allowed is what the plan allows for steering and the job states of a located head at the depth of the
    end. A head that was read more roughly than that gets no more room: what is not known is no yes.
    """
    step = np.diff(scene.plan_m[-2:], axis=0)[0]
    end_m, job = scene.path.points_m[-1], scene.inputs.job
    stated_m = stated.at(float(scene.ground.at(scene.path.length_m) - end_m[2]))
    return Exit(
        end_m,
        step / np.linalg.norm(step),
        job.bore_horizontal_m + stated_m,
        job.bore_vertical_m + stated_m,
    )


@dataclass(frozen=True, eq=False)
class ToExit:
    """The head at a joint before the exit, as the look-ahead takes it.

    Attributes
    ----------
    height : Head
        Of the hole against the planned end's elevation.
    aside : Head
        The same in plan: what lies to the right of the plan stands for what lies above it.
    rig : Rig
    run_m : float
        To where the hole passes the planned end.
    bends : tuple of LevelTurn
        Of the alignment up to there.
    exit : Exit
    """

    height: Head
    aside: Head
    rig: Rig
    run_m: float
    bends: tuple[LevelTurn, ...]
    exit: Exit

    def heights(self, share: float) -> ReachedBand:
        """Heights against the planned end in reach while a share of the bend goes into the plan."""
        whole = 1.0 / self.rig.bend_radius_m
        turns = [LevelTurn(0.0, self.run_m, share * whole)]
        for one in self.bends:
            more = max(0.0, one.curvature_per_m - share * whole)
            turns.append(replace(one, curvature_per_m=more))
        return reachable_elevations(self.height, self.rig, [self.run_m], level_turns=tuple(turns))

    def asides(self, share: float) -> ReachedBand:
        """How far to the right of the planned end the hole can come with a share of the bend."""
        bend = share / self.rig.bend_radius_m
        turns = []
        for one in self.bends:
            left = max(0.0, bend - one.curvature_per_m)
            turns.append(replace(one, curvature_per_m=float(np.sqrt(bend * bend - left * left))))
        level = Rig(self.rig.rod_length_m, 1.0 / bend, bit_lead_m=self.rig.bit_lead_m)
        return reachable_elevations(self.aside, level, [self.run_m], level_turns=tuple(turns))

    @property
    def can_be_met(self) -> bool:
        """Whether a way that the rig can steer for sure ends within what is allowed, in height and in plan.

        Notes
        -----
        The turn of a rod in three dimensions is the root of the sum of both squares, so with a share s of the
        bend for the plan, its own bends in it, the root of 1 - s squared is left for the height. Each share
        tried is a way that the rig can steer; a bend of the plan is taken off the side that needs it.
        """
        allowed = self.exit
        return any(
            _comes_within(self.heights(share), allowed.allowed_height_m)
            and _comes_within(self.asides(share), allowed.allowed_plan_m)
            for share in SHARES
        )


def _comes_within(band: ReachedBand, allowed_m: float) -> bool:
    return bool(band.highest_m[0] >= -allowed_m and band.lowest_m[0] <= allowed_m)


def to_exit(scene: Scene, joint: DrilledJoint, rig: Rig, way: WayAhead, there: Exit) -> ToExit:
    """The head at a joint before the exit.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    joint : DrilledJoint
    rig : Rig
    way : WayAhead
        From the joint on.
    there : Exit
    """
    past_m = max(0.0, float(there.past_m(way.path.points_m[-1:])[0]))
    heading_error_rad = HEADING_UNREAD_RAD if joint.rod.heading_rad is None else HEADING_READ_RAD
    run_m = max(0.0, way.path.length_m - past_m)
    height, stations = head_at(joint), scene.path.stations_m
    plan_m = np.vstack(
        [scene.path.at(joint.station_m)[:2], scene.path.points_m[stations > joint.station_m, :2]]
    )
    return ToExit(
        height=replace(height, elevation_m=height.elevation_m - float(there.point_m[2])),
        aside=Head(joint.right_m, off_plan_rad(scene, joint), heading_error_rad),
        rig=rig,
        run_m=run_m,
        bends=level_turns(plan_m, rig, bit_run_m(height, rig)),
        exit=there,
    )


def exit_line(now: ToExit, side: Side) -> LineAhead:
    """What lies too low, or too high, at the planned end, as a line to be passed over or under.

    Parameters
    ----------
    now : ToExit
    side : Side
    """
    at_m, allowed_m = float(now.exit.point_m[2]), now.exit.allowed_height_m
    low_m, high_m = (-np.inf, at_m - allowed_m) if side is Side.OVER else (at_m + allowed_m, np.inf)
    band = ForbiddenBand("the exit", now.run_m, now.run_m, low_m, high_m)
    return LineAhead(band, now.run_m, depth_is_known=True, planned=side)


def with_exit(lines: Sequence[LineAhead], now: ToExit) -> list[LineAhead]:
    """Lines with both sides of the exit among them, by run.

    Parameters
    ----------
    lines : sequence of LineAhead
    now : ToExit
    """
    return sorted([*lines, *(exit_line(now, side) for side in Side)], key=lambda one: one.run_m)


def missed_words(now: ToExit, units: str) -> str:
    """By how much the exit may be missed, in height and in plan, each with the whole bend for it.

    Parameters
    ----------
    now : ToExit
        That cannot meet it.
    units : {"feet", "metric"}
    """
    heights, asides = now.heights(SHARES[0]), now.asides(SHARES[-1])
    found = [
        words
        for band, allowed_m, ways in (
            (heights, now.exit.allowed_height_m, ("under", "over")),
            (asides, now.exit.allowed_plan_m, ("to the left of", "to the right of")),
        )
        if (words := _beyond_words(band, allowed_m, ways, units))
    ]
    if not found:
        found = ["It can be met in height or in plan, but the rig does not bend enough for both."]
    return " ".join(found)


def _beyond_words(band: ReachedBand, allowed_m: float, ways: tuple[str, str], units: str) -> str:
    low_m, high_m = float(band.lowest_m[0]), float(band.highest_m[0])
    if high_m < -allowed_m:
        off_m, way = -high_m, ways[0]
    elif low_m > allowed_m:
        off_m, way = low_m, ways[1]
    else:
        return ""
    return (
        f"Whatever is steered, the hole may end {rough_length(off_m, units, 'up')} {way} the planned end; "
        f"allowed is {rough_length(allowed_m, units, 'down')}."
    )


def pull_back_words(scene: Scene, joints: Sequence[DrilledJoint], rig: Rig, there: Exit) -> str:
    """How far to pull back until the exit can be met, whatever lies before it, in words.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    joints : sequence of DrilledJoint
        The last is the head.
    rig : Rig
    there : Exit
    """
    for rods, joint in enumerate(reversed(joints[:-1]), start=1):
        way = way_ahead(scene, joint, rig)
        if way is not None and to_exit(scene, joint, rig, way, there).can_be_met:
            count = "1 rod" if rods == 1 else f"{rods} rods"
            return f"Pull back {count}: from the end of rod {joint.rod.number} the exit can be met."
    return "From no logged rod can it be met: pull back to the entry, or plan anew."
