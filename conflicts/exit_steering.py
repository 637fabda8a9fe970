"""What the next rod is told for the exit's sake, where pitch or heading would lose it."""

from dataclasses import dataclass, field, replace

import numpy as np

from conflicts.crossings_ahead import AllAhead, Drilling
from conflicts.exit_ahead import ToExit, exit_of, to_exit
from conflicts.exit_and_lines import ExitHeight, exit_height
from conflicts.together_words import Steer
from conflicts.way_ahead import WayAhead


@dataclass(frozen=True)
class ExitNext:
    """What the next rod is told for the exit's sake; all empty where nothing has to be.

    Attributes
    ----------
    height : ExitHeight
    turn, why : str
        "left" or "right", where the heading held over one more rod would lose it, and the words for that.
    """

    height: ExitHeight = field(default_factory=ExitHeight)
    turn: str = ""
    why: str = ""

    def sooner(self, steer: Steer | None) -> Steer | None:
        """The steering that must begin first: the exit's where both must at once, for it passes lines too."""
        if steer is None or self.height.steer is None:
            return steer or self.height.steer
        return min(self.height.steer, steer, key=lambda one: one.held_rods)


def exit_next(drilling: Drilling, way: WayAhead, together: AllAhead) -> ExitNext:
    """What the next rod is told for the exit's sake.

    Parameters
    ----------
    drilling : Drilling
    way : WayAhead
        From the head on.
    together : AllAhead
        The lines before the exit.
    """
    scene, head = drilling.scene, drilling.drilled.head
    now = to_exit(scene, head, drilling.rig, way, exit_of(scene, drilling.stated))
    if not now.can_be_met:
        return ExitNext()
    turn = turn_for_exit(now)
    why = f"Turn {turn} with the next rod: held as it points, the exit would be lost." if turn else ""
    return ExitNext(exit_height(drilling, way, together, now), turn, why)


def turn_for_exit(now: ToExit) -> str:
    """Which way to turn with the next rod; nothing where one more rod may go on as the head points.

    Parameters
    ----------
    now : ToExit

    Notes
    -----
    The heading is held over the rod, or up to the exit where less is left.
    """
    aside, allowed_m = now.aside, now.exit.allowed_plan_m
    on_m = min(now.rig.rod_length_m, now.run_m / float(np.cos(aside.angle_rad)))
    on = replace(aside, elevation_m=aside.elevation_m + on_m * float(np.sin(aside.angle_rad)))
    left_m = max(0.0, now.run_m - on_m * float(np.cos(aside.angle_rad)))
    band = replace(now, aside=on, run_m=left_m).asides(1.0)
    if band.lowest_m[0] > allowed_m:
        return "left"
    return "right" if band.highest_m[0] < -allowed_m else ""
