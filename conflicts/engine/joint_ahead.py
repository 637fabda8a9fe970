"""The look-ahead over all lines together: whether one way passes them, and which cannot all be passed."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from conflicts.engine.corridor_ahead import Ahead, Passing, choices, corridor_of, sections_of
from conflicts.engine.lookahead import LineAhead, Side
from conflicts.engine.next_pitch import SURE_M, can_pass_all_after, pitch_for_rod
from conflicts.engine.reach import SAME_RUN_M

# Figures of what lacks are told to this, m, and looked for up to that.
LACKING_STEP_M = 1e-3
MOST_LACKING_M = 16.0


@dataclass(frozen=True)
class Clash:
    """Lines of which each can be left out, but which cannot all be passed together.

    Attributes
    ----------
    places : tuple of int
        Which of the lines, by run; the last one is the one that is missed.
    lacking_m : float
        By how much the last is missed at the least by a way that passes the others; NaN where it is not
        within `MOST_LACKING_M`.
    """

    places: tuple[int, ...]
    lacking_m: float


@dataclass(frozen=True)
class Together:
    """What lies in store at all lines ahead, one after the other.

    Attributes
    ----------
    sides : tuple of Side
        On which each line is passed, in the order given: as planned, else the choice that can be had.
    clash : Clash or None
        None where one way passes all.
    straight_rods : int or None
        Rods that can still be drilled at this pitch before steering must begin with the next; None where
        holding the pitch passes all, or where nothing does.
    steered_rad : float or None
        The pitch to steer to with that rod (`next_pitch.pitch_for_rod`). None where none is needed, or where
        every pitch that could be told for the next rod loses a line.
    held_by : tuple of int
        Which lines could not all be passed with more rods held; empty where steering need not begin.
    """

    sides: tuple[Side, ...]
    clash: Clash | None
    straight_rods: int | None = None
    steered_rad: float | None = None
    held_by: tuple[int, ...] = ()

    @property
    def leaves_no_pitch(self) -> bool:
        """Whether steering must begin at once and no pitch can be told that keeps every line passable."""
        return self.straight_rods == 0 and self.steered_rad is None


def look_ahead_together(ahead: Ahead, lines: Sequence[LineAhead]) -> Together:
    """What lies in store at all lines ahead together.

    Parameters
    ----------
    ahead : Ahead
    lines : sequence of LineAhead
        By run. A line without a planned side is passed on either.

    Returns
    -------
    Together

    Notes
    -----
    The way may be any that the rig steers, whichever the pitch is within its error; for both ends of that
    error the sides are the same. A line of unknown depth is passed by none: it clashes alone. The rods that
    can be held are so few that a pitch can be told for the one after them.
    """
    unknown = next((place for place, one in enumerate(lines) if not one.depth_is_known), None)
    planned = tuple(one.planned or Side.OVER for one in lines)
    if unknown is not None:
        return Together(planned, Clash((unknown,), np.nan))
    ways = []
    for sides in choices(lines):
        found = _steering(ahead, [Passing(*one) for one in zip(lines, sides, strict=True)])
        if found is not None and not found.leaves_no_pitch:
            return found
        ways += [found] if found is not None else []
    if ways:
        return ways[0]
    passings = [Passing(*one) for one in zip(lines, planned, strict=True)]
    return Together(planned, clash_of(ahead, passings))


def pitch_to_tell(
    ahead: Ahead, lines: Sequence[LineAhead], together: Together, planned_rad: float
) -> float | None:
    """The pitch to have at the end of the next rod: the planned one where it will do, else that of now.

    Parameters
    ----------
    ahead : Ahead
    lines : sequence of LineAhead
        By run.
    together : Together
        Of these.
    planned_rad : float
        Of the plan at the end of the rod.

    Returns
    -------
    float or None
        None where a line is lost by every pitch that could be told. Where steering must begin at once, the
        plan's pitch is told only if it turns to the same side.
    """
    if together.clash is not None:
        return None
    will_do, here_rad = can_pass_all_after(ahead, lines, planned_rad), ahead.head.angle_rad
    if together.straight_rods != 0:
        return planned_rad if will_do else here_rad
    steered_rad = together.steered_rad
    if will_do and (steered_rad is None or (planned_rad - here_rad) * (steered_rad - here_rad) > 0.0):
        return planned_rad
    return steered_rad


def can_pass_all(ahead: Ahead, passings: Sequence[Passing], held_rods: int = 0, room_m: float = 0.0) -> bool:
    """Whether one way passes all lines on their sides, holding the pitch for some rods first.

    Parameters
    ----------
    ahead : Ahead
    passings : sequence of Passing
        By run.
    held_rods : int
    room_m : float
        That is to be left besides what is asked.
    """
    return _held(ahead, passings, [held_rods], [-room_m] * len(passings))[0]


def clash_of(
    ahead: Ahead, passings: Sequence[Passing], held_rods: int = 0, room_m: float = 0.0
) -> Clash | None:
    """The first lines that cannot all be passed together, as few as can be; None where all can.

    Parameters
    ----------
    ahead : Ahead
    passings : sequence of Passing
        By run.
    held_rods : int
        Rods for which the pitch is held first.
    room_m : float
        That is to be left besides what is asked.

    Notes
    -----
    The nearest lines that cannot be passed are found by adding one after the other; the last of them clashes,
    with the nearest one before it if with a single one, else with those that are left when each that can is
    taken out.
    """

    def passes(places: Sequence[int]) -> bool:
        return can_pass_all(ahead, [passings[place] for place in places], held_rods, room_m)

    last = bisect_left(range(len(passings)), True, key=lambda place: not passes(range(place + 1)))
    if last == len(passings):
        return None
    sets = ([last], *([place, last] for place in range(last - 1, -1, -1)))
    places = next((one for one in sets if not passes(one)), None)
    if places is None:
        places = list(range(last + 1))
        for place in range(last):
            left = [one for one in places if one != place]
            if not passes(left):
                places = left
    return Clash(tuple(places), _lacking_m(ahead, [passings[place] for place in places], held_rods))


def _lacking_m(ahead: Ahead, passings: Sequence[Passing], held_rods: int) -> float:
    """By how much the last line is missed by a way that passes the others."""

    def passes(steps: int) -> bool:
        eased = [0.0] * (len(passings) - 1) + [steps * LACKING_STEP_M]
        return _held(ahead, passings, [held_rods], eased)[0]

    low, high = 0, int(MOST_LACKING_M / LACKING_STEP_M)
    if not passes(high):
        return float(np.nan)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if passes(middle) else (middle, high)
    return high * LACKING_STEP_M


def _steering(ahead: Ahead, passings: Sequence[Passing]) -> Together | None:
    """Until when the pitch can be held; None where the lines cannot all be passed."""
    sides = tuple(one.side for one in passings)
    if not passings:
        return Together(sides, None)
    end_m = max(one.line.edges[0][-1] for one in passings)
    if not can_pass_all(ahead, passings):
        return None
    rods = range(1, int(np.ceil(end_m / ahead.rod_run_m)) + 2)
    # What is told goes on a lead too long, as a turn begun at the bit is read (`beginning`).
    spared = replace(ahead, spare_m=ahead.rig.bit_lead_m)
    passes = [True, *_held(spared, passings, rods, [-SURE_M] * len(passings))]
    if all(passes):
        return Together(sides, None)
    held = passes.index(False) - 1
    clash = clash_of(spared, passings, held + 1, SURE_M)
    held_by = () if clash is None else clash.places
    while True:
        angle_rad = pitch_for_rod(ahead, passings, held)
        if angle_rad is not None or held == 0:
            return Together(sides, None, held, angle_rad, held_by)
        held -= 1


def _held(
    ahead: Ahead, passings: Sequence[Passing], rods: Sequence[int], eased_m: Sequence[float] = ()
) -> list[bool]:
    """Whether all lines can be passed with the pitch held for so many rods first, for each number."""
    at_m = [ahead.steered_from_m(one) for one in rods]
    corridor = corridor_of(ahead, passings, at_m, eased_m or [0.0] * len(passings))
    places = np.searchsorted(corridor.runs_m, np.array(at_m) - SAME_RUN_M)
    pitches = len(ahead.angles_rad)
    sections = sections_of(
        ahead, corridor, places.repeat(pitches), np.tile(np.sin(ahead.angles_rad), len(rods))
    )
    passes = np.ones(len(rods), dtype=bool)
    for number, angle in enumerate(ahead.angles_rad):
        heights = corridor.heights_m(ahead.head.elevation_m, np.full(len(corridor.runs_m), np.sin(angle)))
        missed = np.concatenate([[0], np.cumsum(corridor.room_m(heights) < 0.0)])
        low, high = sections[number::pitches].T
        passes &= (missed[places] == 0) & (low <= heights[places]) & (heights[places] <= high)
    return [bool(one) for one in passes]
