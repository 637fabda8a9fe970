"""Where the bit is: ahead of the antenna that is located, in line with it."""

from dataclasses import dataclass

import numpy as np

from conflicts.ahead_lengths import rough_length
from conflicts.drilled import DrilledJoint, right_of_plan_m
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import project_on
from conflicts.inputs import RigInput
from conflicts.scene import Scene
from conflicts.sentences import station_words

# How far the bit is ahead where it is not recorded, m: 3 ft, the most of the 1 to 3 ft that are usual (common
# practice, no source). The farther ahead it is, the less can be steered.
USUAL_LEAD_M = 0.9144


@dataclass(frozen=True, eq=False)
class Bit:
    """Where the bit is while the antenna is at a joint: straight on by the pitch and heading read there.

    Attributes
    ----------
    lead_m : float
        From the antenna.
    is_recorded : bool
        Whether somebody wrote down how far that is.
    point_m : (3,) float array
        East, north, elevation.
    station_m : float
        Of the planned bore's point nearest in plan.
    right_m : float
        Beside the plan, to the right facing the exit.
    depth_m : float
        Below the ground there.
    """

    lead_m: float
    is_recorded: bool
    point_m: FloatArray
    station_m: float
    right_m: float
    depth_m: float

    @property
    def above_m(self) -> float:
        """Out of the ground, above it; zero in it."""
        return max(0.0, -self.depth_m)


def lead_m(rig: RigInput) -> float:
    """How far the bit is ahead of the antenna, metres; the usual most where nobody recorded it."""
    return USUAL_LEAD_M if rig.bit_lead_m is None else rig.bit_lead_m


def bit_ahead(scene: Scene, joint: DrilledJoint) -> Bit:
    """Where the bit is while the antenna is at a joint.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    joint : DrilledJoint
    """
    ahead_m = lead_m(scene.inputs.rig)
    run_m = ahead_m / float(np.hypot(1.0, joint.rod.pitch_ratio))
    heading = joint.heading_rad
    point = joint.point_m + run_m * np.array([np.sin(heading), np.cos(heading), joint.rod.pitch_ratio])
    station_m = float(project_on(point[:2], scene.plan_m)[0])
    return Bit(
        lead_m=ahead_m,
        is_recorded=scene.inputs.rig.bit_lead_m is not None,
        point_m=point,
        station_m=station_m,
        right_m=right_of_plan_m(scene, station_m, point),
        depth_m=float(scene.ground.at(station_m) - point[2]),
    )


def bit_words(bit: Bit, units: str) -> str:
    """Where the bit is, in words.

    Parameters
    ----------
    bit : Bit
    units : {"feet", "metric"}
    """
    lead = rough_length(bit.lead_m, units)
    height = f"{rough_length(bit.depth_m, units)} deep"
    if bit.above_m:
        height = f"{rough_length(bit.above_m, units)} above the ground"
    place = f"{station_words(bit.station_m, units)}, {height}"
    if bit.lead_m == 0.0:
        return f"The bit is at the antenna: {place}."
    if bit.is_recorded:
        return f"The bit is {lead} ahead of the antenna: {place}."
    return f"The bit is taken to be {lead} ahead of the antenna, for that is not recorded: {place}."
