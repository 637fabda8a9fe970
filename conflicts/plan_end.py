"""Where the plan ends ahead of no head: at the exit, or off it with nothing looked at beyond."""

import numpy as np

from conflicts.ahead_lengths import rough_length
from conflicts.ahead_stops import Stop
from conflicts.crossings_ahead import Drilling
from conflicts.drilled import Drilled
from conflicts.engine.frame import FloatArray
from conflicts.exit_ahead import Exit, exit_of
from conflicts.exit_and_lines import exit_back_words
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


def is_at_exit(scene: Scene, drilled: Drilled, points_m: FloatArray, there: Exit) -> bool:
    """Whether a hole comes out at the exit.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    drilled : Drilled
    points_m : (n, 3) float array
        Of the hole, to the antenna or to the bit; it has come as far as the planned end.
    there : Exit

    Notes
    -----
    By the rule of `plan_end_stop`, with the last rod as the length of a rod.
    """
    return (
        abs(off_plan_rad(scene, drilled.head)) <= FARTHEST_OFF_RAD
        and all(off_m <= allowed_m for off_m, allowed_m in _off_end(points_m, there).values())
        and not _is_below_beyond(drilled, there, drilled.head.rod.length_m)
    )


def plan_end_stop(drilling: Drilling) -> Stop | None:
    """What stops a head from which no planned way leads on; None where it is at the exit.

    Parameters
    ----------
    drilling : Drilling

    Notes
    -----
    At the exit is a head that does not point away from the plan, whose hole passes the planned end no farther
    above, below or beside it than is allowed there (`exit_of`), that is no farther under it now; nor, below
    the ground, more than a rod past it.
    """
    scene, drilled = drilling.scene, drilling.drilled
    if abs(off_plan_rad(scene, drilled.head)) > FARTHEST_OFF_RAD:
        return AWAY
    units, there = scene.inputs.job.show_units, exit_of(scene, drilling.stated)
    because = _off_words(drilled, there, units)
    if _is_below_beyond(drilled, there, drilling.rig.rod_length_m):
        past_m = float(there.past_m(drilled.head.point_m[None])[0])
        because.append(
            f"The head is {rough_length(past_m, units, 'up')} past the planned end, below the ground."
        )
    if not because:
        return None
    return Stop(PLAN_ENDS, LOOK_BEYOND, " ".join([*because, exit_back_words(drilling)]))


def _is_below_beyond(drilled: Drilled, there: Exit, rod_length_m: float) -> bool:
    """Whether the head is below the ground and more than a rod past the planned end."""
    head = drilled.head
    past_m = float(there.past_m(head.point_m[None])[0])
    return past_m > rod_length_m and head.depth_m > there.allowed_height_m


def _off_words(drilled: Drilled, there: Exit, units: str) -> list[str]:
    """How far the hole is off the planned end where that is more than is allowed; empty where it is not."""
    return [
        f"The {what} {rough_length(off_m, units, 'up')} {way} the planned end; allowed is "
        f"{rough_length(allowed_m, units, 'down')}."
        for (what, way), (off_m, allowed_m) in _off_end(drilled.path.points_m, there).items()
        if off_m > allowed_m
    ]


def _off_end(points_m: FloatArray, there: Exit) -> dict[tuple[str, str], tuple[float, float]]:
    """How far a hole is off the planned end each way, and what is allowed, metres.

    Under it counts where it passes, or where it is now if that is lower.
    """
    passed = _passes_at(points_m, there)
    under_m = float(there.point_m[2] - min(passed[2], points_m[-1, 2]))
    over_m = float(passed[2] - there.point_m[2])
    right_m = there.right_m(passed)
    return {
        ("head is", "under"): (under_m, there.allowed_height_m),
        ("hole passes", "over"): (over_m, there.allowed_height_m),
        ("hole passes", "to the right of"): (right_m, there.allowed_plan_m),
        ("hole passes", "to the left of"): (-right_m, there.allowed_plan_m),
    }


def _passes_at(points_m: FloatArray, there: Exit) -> FloatArray:
    """Where a path passes the planned end, as a (3,) array; its own end where it has not come past."""
    past_m = there.past_m(points_m)
    before = int(np.flatnonzero(past_m <= 0.0)[-1]) if (past_m <= 0.0).any() else 0
    if before + 1 >= len(points_m):
        return np.asarray(points_m[-1])
    share = min(1.0, max(0.0, -past_m[before]) / (past_m[before + 1] - past_m[before]))
    return np.asarray(points_m[before] + share * (points_m[before + 1] - points_m[before]))
