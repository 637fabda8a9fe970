"""What the next rod is told for the exit's sake, where pitch or heading would lose it."""

from dataclasses import dataclass, field, replace

import numpy as np

from conflicts.crossings_ahead import AllAhead, Drilling
from conflicts.engine.corridor_ahead import Ahead
from conflicts.engine.next_pitch import nearest_angles_rad
from conflicts.engine.reach import Head
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
    height = exit_height(drilling, way, together, now)
    told_rad = together.told_rad if height.told_rad is None else height.told_rad
    turn = turn_for_exit(now, told_rad)
    why = f"Turn {turn} with the next rod: held as it points, the exit would be lost." if turn else ""
    return ExitNext(height, turn, why)


def turn_for_exit(now: ToExit, told_rad: float | None) -> str:
    """Which way to turn with the next rod; nothing where one more rod may go on as the head points.

    Parameters
    ----------
    now : ToExit
    told_rad : float or None
        Pitch that is told for the end of the rod; None where none can be, which stops.

    Notes
    -----
    The heading is held over the rod, or up to the exit where less is left. After the rod the exit must be in
    reach to either side with the whole bend, and with what the height leaves of it.
    """
    aside, allowed_m = now.aside, now.exit.allowed_plan_m
    on_m = min(now.rig.rod_length_m, now.run_m / float(np.cos(aside.angle_rad)))
    on = replace(aside, elevation_m=aside.elevation_m + on_m * float(np.sin(aside.angle_rad)))
    left_m = max(0.0, now.run_m - on_m * float(np.cos(aside.angle_rad)))
    band = replace(now, aside=on, run_m=left_m).asides(1.0)
    if band.lowest_m[0] > allowed_m:
        return "left"
    if band.highest_m[0] < -allowed_m:
        return "right"
    if told_rad is None or left_m == 0.0 or not _lost_aside(now, on, told_rad):
        return ""
    return "left" if on.elevation_m + left_m * float(np.tan(on.angle_rad)) > 0.0 else "right"


def _lost_aside(now: ToExit, on: Head, told_rad: float) -> bool:
    """Whether the exit is lost after a rod for what lies to the side alone, its heading held.

    The pitch is turned to what is told over the whole rod, or from the bit on.
    """
    height, rig = now.height, now.rig
    last_rad = float(nearest_angles_rad(Ahead(height, rig, now.bends), [told_rad])[0])
    mean_rad = 0.5 * (height.angle_rad + last_rad)
    needed_m = rig.bend_radius_m * abs(last_rad - height.angle_rad)
    for straight_m in (0.0, min(rig.bit_lead_m, max(0.0, rig.rod_length_m - needed_m))):
        turned_m = rig.rod_length_m - straight_m
        rise_m = straight_m * np.sin(height.angle_rad) + turned_m * np.sin(mean_rad)
        level_m = straight_m * np.cos(height.angle_rad) + turned_m * np.cos(mean_rad)
        run_m = float(level_m * np.cos(on.angle_rad))
        after = replace(
            now,
            height=Head(height.elevation_m + float(rise_m), last_rad, height.angle_error_rad),
            aside=on,
            run_m=max(0.0, now.run_m - run_m),
            bends=tuple(
                replace(one, from_m=max(0.0, one.from_m - run_m), to_m=one.to_m - run_m)
                for one in now.bends
                if one.to_m > run_m
            ),
        )
        if not after.can_be_met and replace(after, aside=Head(0.0, 0.0)).can_be_met:
            return True
    return False
