"""All lines ahead together, in words: which cannot all be passed, and until when to begin steering."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.ahead_lengths import rough_length
from conflicts.ahead_stops import Stop, crossing_name, side_words
from conflicts.crossings_ahead import AllAhead, CrossingAhead
from conflicts.drilled import Drilled
from conflicts.engine.lookahead import Prospect, Side
from conflicts.engine.next_pitch import TOLD_RATIO
from conflicts.sentences import station_words

CLASH = "Lines ahead cannot all be passed."
NO_PITCH = "No pitch of the next rod is sure to keep every line ahead passable."


@dataclass(frozen=True)
class Steer:
    """Steering that must begin: after how many rods, which way, and why."""

    held_rods: int
    towards: str
    why: str

    @property
    def is_turning(self) -> bool:
        """Whether it turns the head: the pitch to begin with may be that of now as it is told."""
        return self.towards != ""


def steering(ahead: Sequence[CrossingAhead], together: AllAhead, head_rad: float, units: str) -> Steer | None:
    """The steering that must begin soonest, for one line or for several together; None where none is needed.

    Parameters
    ----------
    ahead : sequence of CrossingAhead
    together : AllAhead
    head_rad : float
        Pitch of the head.
    units : {"feet", "metric"}

    Notes
    -----
    Where both must begin with the same rod, what all lines ask for together is told: steered for one of them
    alone, another may be lost.
    """
    steered = [one for one in ahead if one.outlook.prospect is Prospect.STEER]
    urgent = min(steered, key=lambda one: (one.outlook.aim.straight_rods or 0, one.station_m), default=None)
    alone = None if urgent is None else urgent.outlook.aim.straight_rods or 0
    found = together.found
    if found.straight_rods is not None and (alone is None or found.straight_rods <= alone):
        towards = "" if found.steered_rad is None else towards_words(head_rad, found.steered_rad)
        if found.straight_rods and not towards and len(found.held_by) == 1:
            # What is turned with the rod to begin with may be nothing as it is told; after it, this way.
            towards = side_words(found.sides[found.held_by[0]])
        return Steer(found.straight_rods, towards, _passed(together, found.held_by, units))
    if urgent is None:
        return None
    side = urgent.outlook.aim.side
    place = f"{crossing_name(urgent)} at {station_words(urgent.station_m, units)}"
    return Steer(alone or 0, side_words(side), f"{place} must be passed {side}")


def towards_words(head_rad: float, steered_rad: float) -> str:
    """Up or down from one pitch to another; nothing where they are one as they are told."""
    steps = round((np.tan(steered_rad) - np.tan(head_rad)) / TOLD_RATIO)
    if steps == 0:
        return ""
    return "up" if steps > 0 else "down"


def clash_stops(drilled: Drilled, together: AllAhead, units: str) -> list[Stop]:
    """The stop of lines that cannot all be passed; empty where they can.

    Parameters
    ----------
    drilled : Drilled
    together : AllAhead
    units : {"feet", "metric"}
    """
    clash = together.found.clash
    if clash is None:
        return []
    words = [
        f"{_passed(together, clash.places, units)}.",
        _lacking_words(together, clash.lacking_m, units),
        _pull_back_words(drilled, together),
    ]
    if together.other_sides:
        turned = " and ".join(f"{crossing_name(one)} {side}" for one, side in together.other_sides)
        words.append(f"The rig could pass {turned} instead, but nobody has looked at what follows.")
    then = "Stop. Pull back as far as is told, or plan anew before you drill on."
    return [Stop(CLASH, then, " ".join(words))]


def no_pitch_stops(drilled: Drilled, together: AllAhead, units: str) -> list[Stop]:
    """The stop where every pitch that could be told for the next rod loses a line; empty where one will do.

    Parameters
    ----------
    drilled : Drilled
    together : AllAhead
    units : {"feet", "metric"}
    """
    found = together.found
    if together.told_rad is not None or found.clash is not None:
        return []
    because = (
        f"{_passed(together, found.held_by, units)}. With any pitch at the end of rod "
        f"{drilled.head.rod.number + 1} that could be told, a line may be lost by how the rod is turned or "
        f"by what the pitch is read wrong by. {_pull_back_words(drilled, together)}"
    )
    return [Stop(NO_PITCH, "Stop. Drill no rod: pull back as far as is told, or plan anew.", because)]


def clash_row_words(together: AllAhead, one: CrossingAhead) -> str | None:
    """What stands in the table for a line that clashes with others; None for one that does not."""
    if one not in together.clashing:
        return None
    others = [other.crossing.mark.ref for other in together.clashing if other is not one]
    return f"Not together with {' and '.join(others)}"


def _passed(together: AllAhead, places: Sequence[int], units: str) -> str:
    """Which lines must be passed, on which sides."""
    return passed_words([(together.lines[place], together.found.sides[place]) for place in places], units)


def passed_words(passed: Sequence[tuple[CrossingAhead, Side]], units: str) -> str:
    """Which lines must be passed, on which sides.

    Parameters
    ----------
    passed : sequence of (CrossingAhead, Side)
    units : {"feet", "metric"}
    """
    parts = [
        f"{crossing_name(one)} at {station_words(one.station_m, units)} "
        f"{'must be passed ' if number == 0 else ''}{side}"
        for number, (one, side) in enumerate(passed)
    ]
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and then {parts[-1]}"


def _lacking_words(together: AllAhead, lacking_m: float, units: str) -> str:
    """How near a way that passes the other lines comes to what the last one asks."""
    *others, last = together.clashing
    others_words = "the other" if len(others) == 1 else "the others"
    if not others:
        others_words = "no other"
    name, outlook = crossing_name(last), last.outlook
    side = together.found.sides[together.lines.index(last)]
    edge_m = outlook.upper_m if side is Side.OVER else outlook.lower_m
    if not np.isfinite(lacking_m) or not np.isfinite(edge_m):
        return f"No way that passes {others_words} comes near to what is asked at {name}."
    asked_m = last.ground_m - edge_m
    lacks = rough_length(lacking_m, units, "up")
    if side is Side.OVER:
        return (
            f"A way that passes {others_words} comes no higher than "
            f"{rough_length(asked_m + lacking_m, units, 'up')} deep at {name}, and "
            f"{rough_length(asked_m, units, 'down')} at the most is asked: {lacks} too deep."
        )
    return (
        f"A way that passes {others_words} comes no deeper than "
        f"{rough_length(asked_m - lacking_m, units, 'down')} at {name}, and "
        f"{rough_length(asked_m, units, 'up')} at the least is asked: {lacks} too little."
    )


def _pull_back_words(drilled: Drilled, together: AllAhead) -> str:
    back = together.pull_back
    if back is None:
        return (
            "From no logged rod can every line ahead of known depth be passed: pull back to the entry, or "
            "plan anew."
        )
    last = drilled.joints[-1 - back.rods].rod.number
    rods = "1 rod" if back.rods == 1 else f"{back.rods} rods"
    exit_words = " and the exit met" if back.meets_exit else ""
    return (
        f"Rod {last} was the last from which every line ahead of known depth could be passed{exit_words}: "
        f"pull back {rods}."
    )
