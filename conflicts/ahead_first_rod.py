"""What the sheet for the rig tells while by the log no rod is in the ground: what the plan says."""

from math import ceil

import numpy as np

from conflicts.ahead_lengths import rough_length
from conflicts.ahead_words import Told, rods_words
from conflicts.checks import Assessed
from conflicts.engine.reach import Rig
from conflicts.scene import Scene
from conflicts.sentences import line_name, station_words
from conflicts.way_ahead import planned_pitch_ratio
from locates.units import format_grade

LOG_FIRST = (
    "Whether it may be drilled is told on the bore's page. What lies ahead of the head is told once it is "
    "logged: is a rod in the ground that is not? Then stop, and log it first."
)


def first_rod(assessed: Assessed, rig: Rig) -> tuple[Told, Told]:
    """What to do where the records stop nothing, and the first line that the plan meets.

    Parameters
    ----------
    assessed : Assessed
        The plan as the records are now.
    rig : Rig

    Notes
    -----
    No head, no look-ahead: so it says neither that the crew may go on nor that it has to stop.
    """
    scene = assessed.scene
    pitch = format_grade(planned_pitch_ratio(scene, 0.0))
    answer = Told("Log rod 1 when it is in", (f"The plan enters with {pitch}.", LOG_FIRST))
    if not assessed.crossings:
        return answer, Told("No line", ("The plan meets no marked line.",))
    units, one = scene.inputs.job.show_units, min(assessed.crossings, key=lambda it: it.clearance.from_m)
    from_m = one.clearance.from_m
    lines = (
        f"{line_name(one.mark.operator, one.mark.ref)}, {one.clearance.kind} at "
        f"{station_words(one.clearance.station_m, units)}, {rough_length(from_m, units)} from the entry; "
        f"{rough_length(one.required_m, units, 'up')} asked.",
        f"By the plan: {one.sentence}",
    )
    return answer, Told(f"{one.mark.ref} {rods_words(_rods_to(scene, rig, from_m))}", lines)


def _rods_to(scene: Scene, rig: Rig, station_m: float) -> int:
    """The rod with which the bit comes to a station of the plan, by the length of the hole to there."""
    stations_m = scene.path.stations_m
    points_m = scene.path.points_m[stations_m < station_m]
    steps_m = np.diff([*points_m, scene.path.at(station_m)], axis=0)
    length_m = float(np.linalg.norm(steps_m, axis=1).sum())
    return max(1, ceil((length_m - rig.bit_lead_m) / rig.rod_length_m))
