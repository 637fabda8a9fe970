"""Whether the rods in the ground lead to the exit, as a close-out asks."""

from conflicts.ahead_lengths import rough_length
from conflicts.bit_ahead import bit_ahead
from conflicts.checks import Assessed
from conflicts.drilled import Drilled
from conflicts.exit_ahead import exit_of
from conflicts.rod_log import LocatingError
from conflicts.scene import Scene

GIVEN_UP = "Where the bore was given up, retire it: it keeps its record."
ALL_BACK = f"No rod that was logged is in the ground: log those that were drilled since. {GIVEN_UP}"


def short_of_exit_m(scene: Scene, drilled: Drilled) -> float:
    """How far along the plan the hole ends before the exit; zero where it has come as far.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    drilled : Drilled

    Notes
    -----
    The hole ends at the bit where somebody recorded how far that is ahead, else at the antenna. Along the
    plan, for beside a bore that bends back what lies ahead of its start may lie past its exit.
    """
    head = drilled.head
    is_recorded = scene.inputs.rig.bit_lead_m is not None
    station_m = bit_ahead(scene, head).station_m if is_recorded else head.station_m
    return max(0.0, scene.path.length_m - station_m)


def short_allowed_m(scene: Scene, drilled: Drilled, stated: LocatingError) -> float:
    """By how much the hole may end before the exit: what the plan allows there, and one rod.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    drilled : Drilled
    stated : LocatingError
        What the job states of a located head.

    Notes
    -----
    A rod is as long as the rig's, else as the last one logged.
    """
    recorded_m = scene.inputs.rig.rod_length_m
    rod_m = drilled.head.rod.length_m if recorded_m is None else recorded_m
    return exit_of(scene, stated).allowed_plan_m + rod_m


def exit_faults(assessed: Assessed) -> list[str]:
    """The sentence on a bore whose logged rods do not lead to its exit; empty where they do.

    Parameters
    ----------
    assessed : Assessed

    Returns
    -------
    list of str
        Empty too where no rod was ever logged, and where the readings give no path, which is told elsewhere.
    """
    log, made = assessed.site.log, assessed.drilled
    if log is None or made.problem:
        return []
    if made.path is None:
        return [ALL_BACK] if log.legs else []
    scene = assessed.scene
    short_m = short_of_exit_m(scene, made.path)
    allowed_m = short_allowed_m(scene, made.path, log.stated)
    if short_m <= allowed_m:
        return []
    units = scene.inputs.job.show_units
    return [
        f"The last rod logged, {made.path.head.rod.number}, ends {rough_length(short_m, units, 'up')} short "
        f"of the exit; allowed is {rough_length(allowed_m, units, 'down')}. Log the rods that are missing, "
        f"or plan the bore to where it ends. {GIVEN_UP}"
    ]
