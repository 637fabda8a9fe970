"""What the next rod is told for the exit's sake, where the plan's own pitch or the heading would lose it."""

from dataclasses import dataclass, replace

import numpy as np

from conflicts.crossings_ahead import Drilling
from conflicts.engine.corridor_ahead import Ahead
from conflicts.engine.lookahead import Joint, LineAhead, Side, beginning
from conflicts.engine.next_pitch import can_pass_all_after
from conflicts.engine.profile_limits import ForbiddenBand
from conflicts.exit_ahead import ToExit, exit_of, to_exit
from conflicts.together_words import Steer
from conflicts.way_ahead import WayAhead
from locates.units import format_grade


@dataclass(frozen=True)
class ExitNext:
    """What the next rod is told for the exit's sake; all empty where nothing has to be.

    Attributes
    ----------
    steer : Steer or None
        The steering in height that must begin.
    lost : str
        That the plan's pitch would lose the exit.
    turn, why : str
        "left" or "right", where the heading held over one more rod would lose it, and the words for that.
    """

    steer: Steer | None = None
    lost: str = ""
    turn: str = ""
    why: str = ""

    def sooner(self, steer: Steer | None) -> Steer | None:
        """The steering that must begin first: another's where both must at once, for that passes a line."""
        if steer is None or self.steer is None:
            return steer or self.steer
        return min(steer, self.steer, key=lambda one: one.held_rods)


def exit_next(drilling: Drilling, way: WayAhead, planned_ratio: float) -> ExitNext:
    """What the next rod is told for the exit's sake.

    Parameters
    ----------
    drilling : Drilling
    way : WayAhead
        From the head on.
    planned_ratio : float
        Pitch of the plan where the next rod ends, rise over run.
    """
    scene, head = drilling.scene, drilling.drilled.head
    now = to_exit(scene, head, drilling.rig, way, exit_of(scene, drilling.stated))
    if not now.can_be_met:
        return ExitNext()
    turn = _turn(now)
    why = f"Turn {turn} with the next rod: held as it points, the exit would be lost." if turn else ""
    side = _side_lost(now, planned_ratio)
    if side is None:
        return ExitNext(turn=turn, why=why)
    rod = head.rod.number + 1
    lost = f"The plan's {format_grade(planned_ratio)} at the end of rod {rod} would lose the exit."
    held = beginning(Joint(now.height, exit_line(now, side), now.bends), now.rig, side).straight_rods
    towards = "up" if side is Side.OVER else "down"
    steer = None if held is None else Steer(held, towards, "the exit must be met")
    return ExitNext(steer, lost, turn, why)


def exit_line(now: ToExit, side: Side) -> LineAhead:
    """What lies too low, or too high, at the planned end, as a line to be passed over or under.

    Parameters
    ----------
    now : ToExit
    side : Side
    """
    allowed_m = now.exit.allowed_height_m
    low_m, high_m = (-np.inf, -allowed_m) if side is Side.OVER else (allowed_m, np.inf)
    band = ForbiddenBand("the exit", now.run_m, now.run_m, low_m, high_m)
    return LineAhead(band, now.run_m, depth_is_known=True, planned=side)


def _side_lost(now: ToExit, planned_ratio: float) -> Side | None:
    """Over where the plan's pitch would leave the hole too low at the exit, under where too high."""
    ahead = Ahead(now.height, now.rig, now.bends)
    angle_rad = float(np.arctan(planned_ratio))
    return next(
        (side for side in Side if not can_pass_all_after(ahead, [exit_line(now, side)], angle_rad)), None
    )


def _turn(now: ToExit) -> str:
    """Which way to turn with the next rod; nothing where one more rod may go on as the head points."""
    rod_m, aside, allowed_m = now.rig.rod_length_m, now.aside, now.exit.allowed_plan_m
    on = replace(aside, elevation_m=aside.elevation_m + rod_m * float(np.sin(aside.angle_rad)))
    left_m = max(0.0, now.run_m - rod_m * float(np.cos(aside.angle_rad)))
    band = replace(now, aside=on, run_m=left_m).asides(1.0)
    if band.lowest_m[0] > allowed_m:
        return "left"
    return "right" if band.highest_m[0] < -allowed_m else ""
