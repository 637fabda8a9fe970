"""The next rod in words: the plan's pitch only where it leaves every line passable from where the bit is."""

import numpy as np

from conflicts.ahead_stops import crossing_name
from conflicts.crossings_ahead import AllAhead, Drilling
from conflicts.engine.joint_ahead import Ahead, can_pass_all_after, nearest_angle_rad
from conflicts.head_errors import HEADING_READ_RAD
from conflicts.together_words import Steer
from conflicts.way_ahead import WayAhead, head_at, off_plan_rad
from locates.units import format_grade

# Shares of what the rig bends that are tried for the next rod where the plan's pitch will not do.
SHARES = (1.0, 0.75, 0.5, 0.25)


def next_rod_words(
    drilling: Drilling, way: WayAhead, together: AllAhead, planned_ratio: float, steer: Steer | None
) -> tuple[str, tuple[str, ...]]:
    """What is told large where nothing stops the crew, and the lines below it.

    Parameters
    ----------
    drilling : Drilling
    way : WayAhead
    together : AllAhead
        All lines ahead; one way passes them.
    planned_ratio : float
        Pitch of the plan where the next rod ends, rise over run.
    steer : Steer or None
        The steering that must begin soonest.

    Notes
    -----
    The plan's pitch leads along the plan from where the plan is, not from where the head is.
    """
    rod, planned = drilling.drilled.head.rod.number + 1, format_grade(planned_ratio)
    ahead = Ahead(head_at(drilling.drilled.head), drilling.rig, way.level_turns)
    lost = _lost(ahead, together, planned_ratio)
    plan_words = f"The plan has {planned} at the end of rod {rod}."
    if lost is not None:
        plan_words = f"The plan's {planned} at the end of rod {rod} would lose {lost}."
    if steer is None:
        held = (
            "Held as it is, the pitch passes every line ahead." if together.lines else "No line lies ahead."
        )
        return "Drill on by the plan" if lost is None else "Hold the pitch", (plan_words, held)
    last = rod + steer.held_rods
    why = f"Rod {last} is the last that can begin it: {steer.why}."
    if not steer.towards:
        why += " Little is left: which way is not told."
    if lost is not None:
        plan_words = f"{plan_words} {_instead(ahead, together, steer, rod)}".rstrip()
    towards = f"Steer {steer.towards}".rstrip()
    return f"{towards} by rod {last}" if steer.held_rods else f"{towards} now", (why, plan_words)


def turning(drilling: Drilling) -> tuple[str, str]:
    """Which way the head is to be turned back beside the plan, and why; nothing where it points along it.

    Notes
    -----
    The way ahead is turned back from the bit on (`way_ahead`): without it nothing of what is told holds.
    """
    off_rad = off_plan_rad(drilling.scene, drilling.drilled.head)
    if abs(off_rad) < HEADING_READ_RAD:
        return "", ""
    towards = "left" if off_rad > 0.0 else "right"
    off = f"{np.degrees(abs(off_rad)):.0f}\N{DEGREE SIGN}"
    return towards, f"It points {off} off the plan. Turn {towards}: what is told ahead counts on it."


def _lost(ahead: Ahead, together: AllAhead, ratio: float) -> str | None:
    """The first line that could not be passed with the others before it; None where all can."""
    lines = [one.outlook.line for one in together.lines]
    angle_rad = float(np.arctan(ratio))
    if can_pass_all_after(ahead, lines, angle_rad):
        return None
    for place in range(len(lines)):
        if not can_pass_all_after(ahead, lines[: place + 1], angle_rad):
            break
    return crossing_name(together.lines[place])


def _instead(ahead: Ahead, together: AllAhead, steer: Steer, rod: int) -> str:
    """What to do with the next rod instead; nothing where no pitch that was tried leaves all passable."""
    if steer.held_rods:
        return f"Hold the pitch with rod {rod}."
    lines = [one.outlook.line for one in together.lines]
    signs = {"up": (1.0,), "down": (-1.0,)}.get(steer.towards, (1.0, -1.0))
    for share, sign in ((share, sign) for share in SHARES for sign in signs):
        farthest_rad = nearest_angle_rad(ahead, sign * 0.49 * np.pi)
        angle_rad = ahead.head.angle_rad + share * (farthest_rad - ahead.head.angle_rad)
        ratio = round(float(np.tan(angle_rad)), 3)
        if can_pass_all_after(ahead, lines, float(np.arctan(ratio))):
            return f"With {format_grade(ratio)} there every line can still be passed."
    return ""
