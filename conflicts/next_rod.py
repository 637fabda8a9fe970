"""The next rod in words: the plan's pitch only where it leaves every line passable from where the bit is."""

from dataclasses import replace

import numpy as np

from conflicts.ahead_stops import crossing_name
from conflicts.crossings_ahead import AllAhead, Drilling
from conflicts.engine.corridor_ahead import Ahead
from conflicts.engine.next_pitch import can_pass_all_after, nearest_angles_rad
from conflicts.exit_and_lines import ExitHeight
from conflicts.head_errors import HEADING_READ_RAD, PITCH_READ_RATIO
from conflicts.together_words import Steer, towards_words
from conflicts.way_ahead import WayAhead, head_at, off_plan_rad, planned_after_ratio
from locates.units import format_grade


def next_rod_words(
    drilling: Drilling, way: WayAhead, together: AllAhead, steer: Steer | None, leaving: ExitHeight
) -> tuple[str, tuple[str, ...]]:
    """What is told large where nothing stops the crew, and the lines below it.

    Parameters
    ----------
    drilling : Drilling
    way : WayAhead
    together : AllAhead
        All lines ahead; one way passes them.
    steer : Steer or None
        The steering that must begin soonest.
    leaving : ExitHeight
        What is told for the exit's sake: where a pitch is, it passes the lines too.

    Notes
    -----
    The plan's pitch leads along the plan from where the plan is, not from where the head is. Where the rig
    cannot bend to it over the rod, the nearest that it can is what is asked about and told.
    """
    rod = drilling.drilled.head.rod.number + 1
    planned_ratio = planned_after_ratio(drilling.scene, drilling.drilled.head, drilling.rig)
    planned = format_grade(planned_ratio)
    ahead = Ahead(head_at(drilling.drilled.head), drilling.rig, way.level_turns)
    lost = _lost(ahead, together, planned_ratio) or leaving.lost
    plan_words = f"The plan has {planned} at the end of rod {rod}."
    nearest_rad, towards_plan = _towards_plan(ahead, planned_ratio)
    if towards_plan:
        nearest = format_grade(float(np.tan(nearest_rad)))
        plan_words = (
            f"The plan has {planned} at the end of rod {rod}, farther than a rod turns: {nearest} is nearest."
        )
    if lost:
        plan_words = f"The plan's {planned} at the end of rod {rod} would lose {lost}."
    if steer is None:
        held = (
            "Held as it is, the pitch passes every line ahead." if together.lines else "No line lies ahead."
        )
        if lost:
            return "Hold the pitch", (plan_words, held)
        on = f"Steer {towards_plan}, back to the plan" if towards_plan else "Drill on by the plan"
        return on, (plan_words, held)
    last = rod + steer.held_rods
    why = f"Rod {last} is the last that can begin it: {steer.why}."
    if steer.held_rods and steer.is_turning:
        hold = f" Hold the pitch with rod {rod}." if lost else ""
        return f"Steer {steer.towards} by rod {last}", (why, plan_words + hold)
    told_rad = _told_now_rad(together, leaving)
    if told_rad is not None and told_rad != float(np.arctan(planned_ratio)):
        kept = "every line can still be passed"
        if leaving.begins_now:
            kept = f"the exit can still be met and {kept}" if together.lines else "the exit can still be met"
        plan_words += f" With {format_grade(float(np.tan(told_rad)))} there {kept}."
    if steer.is_turning:
        return f"Steer {steer.towards} now", (why, plan_words)
    if not steer.held_rods:
        why = f"With rod {rod} nothing is turned yet: {steer.why}."
    return "Hold the pitch", (why, plan_words)


def as_told(steer: Steer | None, together: AllAhead, leaving: ExitHeight, head_rad: float) -> Steer | None:
    """Steering that must begin at once, as the pitch that is told for the next rod turns.

    Parameters
    ----------
    steer : Steer or None
    together : AllAhead
    leaving : ExitHeight
    head_rad : float
        Pitch of the head.
    """
    told_rad = _told_now_rad(together, leaving)
    if steer is None or steer.held_rods or told_rad is None:
        return steer
    return replace(steer, towards=towards_words(head_rad, told_rad))


def _told_now_rad(together: AllAhead, leaving: ExitHeight) -> float | None:
    """The pitch that is told with steering that must begin at once; None where a side alone is."""
    if leaving.begins_now:
        return leaving.told_rad
    return together.told_rad if together.found.straight_rods == 0 else None


def turning(drilling: Drilling) -> tuple[str, str]:
    """Which way the head is to be turned back beside the plan, and why; nothing where it points along it.

    Notes
    -----
    The way ahead is turned back from the bit on (`way_ahead`), so with the next rod: without it nothing of
    what is told holds.
    """
    off_rad = off_plan_rad(drilling.scene, drilling.drilled.head)
    if abs(off_rad) < HEADING_READ_RAD:
        return "", ""
    towards = "left" if off_rad > 0.0 else "right"
    off = f"{np.degrees(abs(off_rad)):.0f}\N{DEGREE SIGN}"
    rod = f"rod {drilling.drilled.head.rod.number + 1}"
    return (
        towards,
        f"It points {off} off the plan. Turn {towards} with {rod}: what is told ahead counts on it.",
    )


def _towards_plan(ahead: Ahead, planned_ratio: float) -> tuple[float, str]:
    """The pitch nearest to the plan's to which a rod bends, and which way that is where it falls short of it.

    Notes
    -----
    With the whole bend, none of it kept for turning to a side; no nearer than a pitch is read.
    """
    planned_rad = float(np.arctan(planned_ratio))
    nearest_rad = float(nearest_angles_rad(replace(ahead, level_turns=()), [planned_rad])[0])
    if abs(np.tan(nearest_rad) - planned_ratio) <= PITCH_READ_RATIO:
        return nearest_rad, ""
    return nearest_rad, towards_words(ahead.head.angle_rad, planned_rad)


def _lost(ahead: Ahead, together: AllAhead, ratio: float) -> str:
    """The first line that could not be passed with the others before it; empty where all can."""
    lines = [one.outlook.line for one in together.lines]
    angle_rad = float(np.arctan(ratio))
    if can_pass_all_after(ahead, lines, angle_rad):
        return ""
    for place in range(len(lines)):
        if not can_pass_all_after(ahead, lines[: place + 1], angle_rad):
            break
    return crossing_name(together.lines[place])
