"""Through what conduits are pulled: the planned profile, the hole as drilled, or both while it is drilled."""

from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np

from conflicts.as_drilled import to_bit
from conflicts.bit_ahead import bit_ahead
from conflicts.drilled import Drilled
from conflicts.engine.drilled_path import path_through
from conflicts.engine.frame import FloatArray
from conflicts.engine.path import BorePath
from conflicts.exit_ahead import Exit, exit_of
from conflicts.plan_end import is_at_exit
from conflicts.rod_log import RodLog
from conflicts.scene import Scene

AS_PLANNED = "by the planned profile"
AS_DRILLED = "by the hole as drilled"
SO_FAR = "by the hole as drilled so far"
ON_AS_PLANNED = "by the hole as drilled so far, and as planned from there on"


@dataclass(frozen=True, eq=False)
class PulledPath:
    """A path from the rig to the exit, and what it is, in words."""

    words: str
    path: BorePath


def pulled_paths(scene: Scene, log: RodLog | None, drilled: Drilled | None) -> tuple[PulledPath, ...]:
    """The paths of which the one that asks for the greatest pull counts.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    log : RodLog or None
        For what the job states of a located head.
    drilled : Drilled or None
        Where the bore was drilled, where rods are in the ground.

    Returns
    -------
    tuple of PulledPath
        The plan alone before any rod, the hole alone once it comes out at the exit, else both: how the rest
        of the bore will be drilled nobody knows yet.

    Notes
    -----
    A hole of which the antenna has come out at the exit ends there: what the bit is ahead of it is no hole.
    One whose bit has come past the exit above, below or beside it by more than is allowed there is not led
    back to it: nobody drills that.
    """
    planned = PulledPath(AS_PLANNED, scene.path)
    if log is None or drilled is None:
        return (planned,)
    there, logged = exit_of(scene, log.stated), drilled.path
    if _past_m(logged.points_m[-1], there) >= -there.allowed_plan_m and is_at_exit(
        scene, drilled, logged.points_m, there
    ):
        return (PulledPath(AS_DRILLED, logged),)
    past_m = _past_m(bit_ahead(scene, drilled.head).point_m, there)
    if past_m < -there.allowed_plan_m:
        return planned, PulledPath(ON_AS_PLANNED, _on_as_planned(scene, drilled))
    hole = to_bit(scene, drilled).path
    if is_at_exit(scene, drilled, hole.points_m, there):
        return (PulledPath(AS_DRILLED, hole),)
    return planned, PulledPath(SO_FAR, hole)


def _past_m(point_m: FloatArray, there: Exit) -> float:
    """How far a (3,) point lies past the exit, below 0 before it."""
    return float(there.past_m(point_m[None])[0])


def _on_as_planned(scene: Scene, drilled: Drilled) -> BorePath:
    """The drilled path, led back to the plan and along it to its end.

    Notes
    -----
    An offset d is steered back on two arcs of the radius R that turn by 2 sqrt(d/R) together; a straight
    piece of the length sqrt(d R) turns by as much at its ends.
    """
    head, radius_m = drilled.head, scene.inputs.rig.bend_radius_m or 0.0
    back_m = max(head.rod.length_m, sqrt(hypot(head.right_m, head.deeper_m) * radius_m))
    stations = scene.path.stations_m
    left = (stations > head.station_m + back_m) | (stations == stations[-1])
    return path_through(np.vstack([drilled.path.points_m, scene.path.points_m[left]]))
