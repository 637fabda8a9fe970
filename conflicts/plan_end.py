"""Where the plan ends ahead of no head: at the exit, or under the ground with nothing looked at beyond."""

import numpy as np

from conflicts.ahead_lengths import rough_length
from conflicts.ahead_stops import Stop
from conflicts.drilled import DrilledJoint
from conflicts.engine.reach import Rig
from conflicts.scene import Scene
from conflicts.way_ahead import FARTHEST_OFF_RAD, off_plan_rad

AWAY = Stop(
    "The head points away from the plan.",
    "Stop. Read its heading again, or plan anew: no planned way follows from there.",
    "",
)
PLAN_ENDS = "The plan ends here and the head is not at the exit."
LOOK_BEYOND = (
    "Stop. Nobody has looked at what lies beyond: pull back until the exit can be reached, or look for lines "
    "there and plan anew."
)


def plan_end_stop(scene: Scene, joint: DrilledJoint, rig: Rig) -> Stop | None:
    """What stops a head from which no planned way leads on; None where it is at the exit.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    joint : DrilledJoint
        The head.
    rig : Rig

    Notes
    -----
    At the exit is a head that does not point away from the plan and is no farther under its end than the
    head may be off by and the plan allows for steering; nor, below the ground, more than a rod past it.
    """
    if abs(off_plan_rad(scene, joint)) > FARTHEST_OFF_RAD:
        return AWAY
    units = scene.inputs.job.show_units
    allowed_m = joint.vertical_error_m + scene.inputs.job.bore_vertical_m
    under_m = float(scene.path.points_m[-1, 2] - joint.point_m[2])
    if under_m > allowed_m:
        because = (
            f"The head is {rough_length(under_m, units, 'up')} under the planned end; allowed is "
            f"{rough_length(allowed_m, units, 'down')}."
        )
        return Stop(PLAN_ENDS, LOOK_BEYOND, because)
    ahead = np.diff(scene.plan_m[-2:], axis=0)[0]
    past_m = float((joint.point_m[:2] - scene.plan_m[-1]) @ ahead / np.linalg.norm(ahead))
    if past_m > rig.rod_length_m and joint.depth_m > allowed_m:
        because = f"The head is {rough_length(past_m, units, 'up')} past the planned end, below the ground."
        return Stop(PLAN_ENDS, LOOK_BEYOND, because)
    return None
