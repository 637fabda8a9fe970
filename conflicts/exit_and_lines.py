"""The exit with the lines before it: whether one way meets all, and the next rod's pitch that keeps it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.ahead_lengths import rough_length
from conflicts.ahead_stops import Stop, crossing_name
from conflicts.crossings_ahead import AllAhead, Drilling, exit_and_all_met
from conflicts.engine.corridor_ahead import Ahead
from conflicts.engine.joint_ahead import Together, look_ahead_together, pitch_to_tell
from conflicts.engine.lookahead import LineAhead, Side
from conflicts.engine.next_pitch import can_pass_all_after
from conflicts.exit_ahead import ToExit, exit_of, missed_words, pull_back_words, to_exit, with_exit
from conflicts.together_words import Steer, passed_words, towards_words
from conflicts.way_ahead import WayAhead, head_at, planned_after_ratio, way_ahead

EXIT_LOST = "The exit can no longer be met."
PULL_BACK = "Stop. Pull back as far as is told, or plan anew before you drill on."
EXIT_CLASH = "The exit and the lines ahead cannot all be met."
NO_EXIT_PITCH = "No pitch of the next rod is sure to keep the exit in reach."
DRILL_NO_ROD = "Stop. Drill no rod: pull back as far as is told, or plan anew."


@dataclass(frozen=True)
class ExitHeight:
    """What the next rod is told in height for the exit's sake; all empty where nothing has to be.

    Attributes
    ----------
    steer : Steer or None
        The steering that must begin. It passes the lines before the exit too.
    lost : str
        What the plan's pitch would lose: the exit, or a line before it.
    told_rad : float or None
        The pitch to have at the end of the next rod; None where what is told for the lines does for the exit.
    stop : Stop or None
        Where no way, or no pitch that could be told, meets the exit and all lines before it.
    """

    steer: Steer | None = None
    lost: str = ""
    told_rad: float | None = None
    stop: Stop | None = None

    @property
    def begins_now(self) -> bool:
        """Whether steering must begin with the next rod."""
        return self.steer is not None and self.steer.held_rods == 0


def exit_height(drilling: Drilling, way: WayAhead, together: AllAhead, now: ToExit) -> ExitHeight:
    """What the next rod is told in height for the exit's sake.

    Parameters
    ----------
    drilling : Drilling
    way : WayAhead
        From the head on.
    together : AllAhead
        The lines before the exit; where no pitch can be told for them, that stops already.
    now : ToExit
        That can be met.

    Notes
    -----
    Where lines lie ahead the way turns in plan as it does for them: back to the plan from the bit on.
    """
    if together.told_rad is None:
        return ExitHeight()
    head = drilling.drilled.head
    asked = Ahead(head_at(head), drilling.rig, way.level_turns if together.lines else now.bends)
    lines = with_exit([one.outlook.line for one in together.lines], now)
    if can_pass_all_after(asked, lines, together.told_rad):
        return ExitHeight()
    found = look_ahead_together(asked, lines)
    planned_rad = float(np.arctan(planned_after_ratio(drilling.scene, head, drilling.rig)))
    told_rad = pitch_to_tell(asked, lines, found, planned_rad)
    if told_rad is None:
        return ExitHeight(stop=_stop(drilling, together, now, lines, found))
    what = "the exit or a line before it" if together.lines else "the exit"
    lost = "" if can_pass_all_after(asked, lines, planned_rad) else what
    begun_rad = found.steered_rad if found.straight_rods else told_rad
    if found.straight_rods is None or begun_rad is None:
        return ExitHeight(None, lost, told_rad)
    towards = towards_words(asked.head.angle_rad, begun_rad)
    if found.straight_rods and not towards:
        return ExitHeight(None, lost, told_rad)
    why = "the exit must be met" + (", and every line before it passed" if together.lines else "")
    return ExitHeight(Steer(found.straight_rods, towards, why), lost, told_rad)


def _stop(
    drilling: Drilling, together: AllAhead, now: ToExit, lines: Sequence[LineAhead], found: Together
) -> Stop:
    back = (
        _all_met_words(drilling) or "From no logged rod can all be met: pull back to the entry, or plan anew."
    )
    if found.clash is not None and together.lines:
        sided = list(zip(lines, found.sides, strict=True))
        clashing = [sided[place] for place in found.clash.places]
        words = _clash_words(
            together, now, clashing, found.clash.lacking_m, drilling.scene.inputs.job.show_units
        )
        return Stop(EXIT_CLASH, PULL_BACK, f"{words} {back}")
    what = "the exit or a line before it" if together.lines else "the exit"
    rod = drilling.drilled.head.rod.number + 1
    because = (
        f"With any pitch at the end of rod {rod} that could be told, {what} may be lost by how the rod is "
        f"turned or by what the pitch is read wrong by. {back}"
    )
    return Stop(NO_EXIT_PITCH, DRILL_NO_ROD, because)


def _clash_words(
    together: AllAhead,
    now: ToExit,
    clashing: Sequence[tuple[LineAhead, Side]],
    lacking_m: float,
    units: str,
) -> str:
    """Which lines must be passed, and how far from the exit, or past which line, that leaves the hole."""
    crossing_of = {id(one.outlook.line): one for one in together.lines}
    passed = [(crossing_of[id(line)], side) for line, side in clashing if id(line) in crossing_of]
    words = f"{passed_words(passed, units)}." if passed else "The head must be turned back to the plan."
    last, side = clashing[-1]
    if id(last) in crossing_of:
        return f"{words} No way that comes to the exit passes {crossing_name(crossing_of[id(last)])}."
    if not np.isfinite(lacking_m):
        return f"{words} No way that does comes near the planned end."
    way = "under" if side is Side.OVER else "over"
    allowed_m = now.exit.allowed_height_m
    off = rough_length(allowed_m + lacking_m, units, "up")
    return (
        f"{words} The hole then ends {off} {way} the planned end or more; allowed is "
        f"{rough_length(allowed_m, units, 'down')}."
    )


def exit_stops(drilling: Drilling, way: WayAhead) -> list[Stop]:
    """What stops a head that can no longer come to the planned exit; empty where it can.

    Parameters
    ----------
    drilling : Drilling
    way : WayAhead
        From the head on.
    """
    scene = drilling.scene
    now = to_exit(scene, drilling.drilled.head, drilling.rig, way, exit_of(scene, drilling.stated))
    if now.can_be_met:
        return []
    because = f"{missed_words(now, scene.inputs.job.show_units)} {exit_back_words(drilling)}"
    return [Stop(EXIT_LOST, PULL_BACK, because)]


def exit_back_words(drilling: Drilling) -> str:
    """How far to pull back for the exit, in words: where it can be, until every line before it is met too."""
    scene = drilling.scene
    return _all_met_words(drilling) or pull_back_words(
        scene, drilling.drilled.joints, drilling.rig, exit_of(scene, drilling.stated)
    )


def _all_met_words(drilling: Drilling) -> str:
    """Rods to pull back until a pitch can be told that meets the exit and every line; empty if none can."""
    joints = drilling.drilled.joints
    for rods, place in enumerate(reversed(range(len(joints) - 1)), start=1):
        way = way_ahead(drilling.scene, joints[place], drilling.rig)
        if way is None:
            continue
        lines = drilling.lines_from(way, place)
        if exit_and_all_met(drilling, way, lines, place):
            count = "1 rod" if rods == 1 else f"{rods} rods"
            what = "the exit and every line before it" if lines else "the exit"
            return f"Pull back {count}: from the end of rod {joints[place].rod.number} {what} can be met."
    return ""
