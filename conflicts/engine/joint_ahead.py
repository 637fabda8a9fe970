"""The look-ahead over all lines together: whether one way passes them, and which cannot all be passed."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.lookahead import LineAhead, Side
from conflicts.engine.reach import SAME_RUN_M, Head, LevelTurn, Rig, bends_left, bit_run_m
from conflicts.engine.steerable import sections_m

# Places at which no line asks for anything are so far apart, m.
STEP_M = 0.1
# What the elevations between two nodes of the pitch are off by at most, m.
CHORD_M = 1e-4
# A way that lacks less than this passes: what the method is sure to.
SLACK_M = 2e-4
# Shares of the bend that are tried for the next rod, the most first, and parts of it that it is taken for.
SHARES = (1.0, -1.0, 0.5, -0.5)
PARTS_OF_ROD = (1.0, 0.5, 0.25)
# Figures of what lacks are told to this, m, and looked for up to that.
LACKING_STEP_M = 1e-3
MOST_LACKING_M = 16.0


@dataclass(frozen=True, eq=False)
class Ahead:
    """The head, what the rig can do, and where the way ahead turns in plan."""

    head: Head
    rig: Rig
    level_turns: tuple[LevelTurn, ...] = ()

    @property
    def rod_run_m(self) -> float:
        """What a rod at this pitch runs."""
        return self.rig.rod_length_m * float(np.cos(self.head.angle_rad))

    def steered_from_m(self, held_rods: int) -> float:
        """The run at which steering begins once the pitch is held for some rods; with none, at the bit."""
        return bit_run_m(self.head, self.rig) + held_rods * self.rod_run_m

    @property
    def angles_rad(self) -> tuple[float, ...]:
        """The pitches that the head may have: whatever it is, the lines must be passed."""
        error = self.head.angle_error_rad
        return (self.head.angle_rad - error, self.head.angle_rad + error) if error else (self.head.angle_rad,)


@dataclass(frozen=True, eq=False)
class Passing:
    """A line ahead and the side on which it is passed."""

    line: LineAhead
    side: Side


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
    towards : int
        1 where that steering must be up, -1 where down, 0 where no such rod was found, or none is needed.
    held_by : tuple of int
        Which lines could not all be passed with one rod more held; empty where steering need not begin.
    """

    sides: tuple[Side, ...]
    clash: Clash | None
    straight_rods: int | None = None
    towards: int = 0
    held_by: tuple[int, ...] = ()


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
    error the sides are the same. A line of unknown depth is passed by none: it clashes alone.
    """
    unknown = next((place for place, one in enumerate(lines) if not one.depth_is_known), None)
    planned = tuple(one.planned or Side.OVER for one in lines)
    if unknown is not None:
        return Together(planned, Clash((unknown,), np.nan))
    for sides in _choices(lines):
        passings = [Passing(*one) for one in zip(lines, sides, strict=True)]
        found = _steering(ahead, passings)
        if found is not None:
            return found
    passings = [Passing(*one) for one in zip(lines, planned, strict=True)]
    return Together(planned, clash_of(ahead, passings))


def _choices(lines: Sequence[LineAhead]) -> Iterator[tuple[Side, ...]]:
    """Sides of the lines: each planned one as it is, each other on either."""
    yield from product(*([one.planned] if one.planned else list(Side) for one in lines))


def can_pass_all(ahead: Ahead, passings: Sequence[Passing], held_rods: int = 0) -> bool:
    """Whether one way passes all lines on their sides, holding the pitch for some rods first."""
    return _held(ahead, passings, [held_rods])[0]


def clash_of(ahead: Ahead, passings: Sequence[Passing], held_rods: int = 0) -> Clash | None:
    """The first lines that cannot all be passed together, as few as can be; None where all can.

    Parameters
    ----------
    ahead : Ahead
    passings : sequence of Passing
        By run.
    held_rods : int
        Rods for which the pitch is held first.

    Notes
    -----
    The nearest lines that cannot be passed are found by adding one after the other; the last of them clashes,
    with the nearest one before it if with a single one, else with those that are left when each that can is
    taken out.
    """

    def passes(places: Sequence[int]) -> bool:
        return can_pass_all(ahead, [passings[place] for place in places], held_rods)

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
    passes = _held(ahead, passings, range(int(np.ceil(end_m / ahead.rod_run_m)) + 2))
    if not passes[0]:
        return None
    if all(passes):
        return Together(sides, None)
    rods = passes.index(False) - 1
    clash = clash_of(ahead, passings, rods + 1)
    towards = _towards(ahead, passings, rods)
    return Together(sides, None, rods, towards, () if clash is None else clash.places)


def can_pass_all_after(ahead: Ahead, lines: Sequence[LineAhead], angle_rad: float) -> bool:
    """Whether one way still passes all lines once the next rod is steered to a pitch.

    Parameters
    ----------
    ahead : Ahead
    lines : sequence of LineAhead
        By run. A line without a planned side is passed on either.
    angle_rad : float
        That the head shall have at the end of the rod, or as near to it as the rig bends.

    Notes
    -----
    The turn may be spread over the whole rod, or begin at the bit: both must do, with either end of the
    pitch's error on the rod and again at its end, where the way goes on straight to the bit. The elevations
    that do are an interval for each pitch, so what lies between these does too.
    """
    if not all(one.depth_is_known for one in lines):
        return False
    return not lines or any(
        _passes_after(ahead, [Passing(*one) for one in zip(lines, sides, strict=True)], angle_rad)
        for sides in _choices(lines)
    )


def nearest_angle_rad(ahead: Ahead, angle_rad: float) -> float:
    """The pitch nearest to one that is asked for which the rig can bend to over the next rod."""
    turned = sum(
        bend * (min(high, ahead.rod_run_m) - low)
        for low, high, bend in bends_left(ahead.rig, 0.0, ahead.level_turns)
        if low < ahead.rod_run_m
    )
    sine = float(np.sin(ahead.head.angle_rad))
    return float(np.arcsin(np.clip(np.sin(angle_rad), max(-1.0, sine - turned), min(1.0, sine + turned))))


def _passes_after(ahead: Ahead, passings: Sequence[Passing], asked_rad: float) -> bool:
    angle_rad, to_m = nearest_angle_rad(ahead, asked_rad), ahead.rod_run_m
    after = replace(ahead, head=replace(ahead.head, angle_rad=angle_rad))
    bit_m = to_m + bit_run_m(after.head, ahead.rig)
    corridor = _corridor(ahead, passings, [to_m, bit_m], [0.0] * len(passings))
    place = int(np.searchsorted(corridor.runs_m, bit_m - SAME_RUN_M))
    begun = corridor.up_to(place)
    last_sines = np.sin(np.array(after.angles_rad))
    sections = _sections(after, corridor, np.full(len(last_sines), place), last_sines)
    turn_m = ahead.rig.bend_radius_m * abs(np.sin(angle_rad) - np.sin(ahead.head.angle_rad))
    latest_m = max(0.0, min(bit_run_m(ahead.head, ahead.rig), to_m - turn_m))
    ends = zip(last_sines.tolist(), sections.tolist(), strict=True)
    for from_m, first_rad, (last_sine, (low_m, high_m)) in product((0.0, latest_m), ahead.angles_rad, ends):
        end_rad = angle_rad + first_rad - ahead.head.angle_rad
        sines = np.interp(begun.runs_m, [from_m, to_m], np.sin([first_rad, end_rad]))
        sines[begun.runs_m > to_m + SAME_RUN_M] = last_sine
        heights = begun.heights_m(ahead.head.elevation_m, sines)
        if begun.misses(heights)[:-1].any() or not low_m <= heights[-1] <= high_m:
            return False
    return True


@dataclass(frozen=True, eq=False)
class _Corridor:
    """Places along the run ahead with what is asked there, and what can be steered between them."""

    runs_m: FloatArray
    over_m: FloatArray
    under_m: FloatArray
    bends_per_m: FloatArray

    def up_to(self, place: int) -> "_Corridor":
        """Its first places, up to one and with it."""
        end = place + 1
        return _Corridor(self.runs_m[:end], self.over_m[:end], self.under_m[:end], self.bends_per_m[:place])

    def sines(self, angle_rad: float, share: float, from_m: float) -> FloatArray:
        """Sines of a way that holds its pitch up to a place, then steers a share of all there is."""
        turned = np.where(self.runs_m[:-1] >= from_m - SAME_RUN_M, self.bends_per_m, 0.0)
        turned = np.concatenate([[0.0], np.cumsum(turned * np.diff(self.runs_m))])
        return np.asarray(np.sin(angle_rad) + share * turned, dtype=float)

    def heights_m(self, elevation_m: float, sines: FloatArray) -> FloatArray:
        """Elevations of a way at the places."""
        cosines = np.sqrt(1.0 - sines * sines)
        rises = np.diff(self.runs_m) * (sines[:-1] + sines[1:]) / (cosines[:-1] + cosines[1:])
        return np.asarray(elevation_m + np.concatenate([[0.0], np.cumsum(rises)]), dtype=float)

    def misses(self, heights_m: FloatArray) -> np.ndarray:
        """At which places a way asks too much, as an (n,) bool array."""
        return np.asarray((heights_m < self.over_m) | (heights_m > self.under_m))


def _corridor(
    ahead: Ahead, passings: Sequence[Passing], at_m: Sequence[float], eased_m: Sequence[float]
) -> _Corridor:
    """The places of all lines, those asked for, and some between."""
    turns = [one for turn in ahead.level_turns for one in (turn.from_m, turn.to_m)]
    end_m = max([*at_m, *(one.line.edges[0][-1] for one in passings)])
    parts = [np.arange(0.0, end_m, STEP_M), np.array([*at_m, *(one for one in turns if 0.0 < one < end_m)])]
    runs = np.unique(np.concatenate([*parts, *(one.line.edges[0] for one in passings)]))
    runs = runs[np.concatenate([[True], np.diff(runs) > SAME_RUN_M])]
    over, under = np.full(len(runs), -np.inf), np.full(len(runs), np.inf)
    for one, eased in zip(passings, eased_m, strict=True):
        places, lower, upper = one.line.edges
        at = np.clip(np.searchsorted(runs, places - SAME_RUN_M), 0, len(runs) - 1)
        near = ~np.isnan(upper)
        if one.side is Side.OVER:
            np.maximum.at(over, at[near], upper[near] - SLACK_M - eased)
            if (upper[near] > one.line.ceiling_m).any():
                # No way over it leaves the cover.
                over[at[near]] = np.inf
        else:
            np.minimum.at(under, at[near], lower[near] + SLACK_M + eased)
    bends = np.empty(len(runs) - 1)
    middles = 0.5 * (runs[:-1] + runs[1:])
    for low, high, bend in bends_left(ahead.rig, 0.0, ahead.level_turns):
        bends[(middles >= low) & (middles < high)] = bend
    return _Corridor(runs, over, under, bends)


def _held(
    ahead: Ahead, passings: Sequence[Passing], rods: Sequence[int], eased_m: Sequence[float] = ()
) -> list[bool]:
    """Whether all lines can be passed with the pitch held for so many rods first, for each number."""
    at_m = [ahead.steered_from_m(one) for one in rods]
    corridor = _corridor(ahead, passings, at_m, eased_m or [0.0] * len(passings))
    places = np.searchsorted(corridor.runs_m, np.array(at_m) - SAME_RUN_M)
    pitches = len(ahead.angles_rad)
    sections = _sections(
        ahead, corridor, places.repeat(pitches), np.tile(np.sin(ahead.angles_rad), len(rods))
    )
    passes = np.ones(len(rods), dtype=bool)
    for number, angle in enumerate(ahead.angles_rad):
        heights = corridor.heights_m(ahead.head.elevation_m, np.full(len(corridor.runs_m), np.sin(angle)))
        missed = np.concatenate([[0], np.cumsum(corridor.misses(heights))])
        low, high = sections[number::pitches].T
        passes &= (missed[places] == 0) & (low <= heights[places]) & (heights[places] <= high)
    return [bool(one) for one in passes]


def _steepest(ahead: Ahead) -> tuple[float, float]:
    """The sines between which anybody steers; a head that is steeper is not bent back at once."""
    steepest = float(np.sin(np.arctan(ahead.rig.steepest_ratio)))
    sines = np.sin(ahead.angles_rad)
    return min(-steepest, float(sines.min())), max(steepest, float(sines.max()))


def _sections(ahead: Ahead, corridor: _Corridor, places: np.ndarray, sines: FloatArray) -> FloatArray:
    """Elevations from which all lines beyond can be passed, at places and pitches asked."""
    least, greatest = _steepest(ahead)
    step = float(np.sqrt(8.0 * CHORD_M / ahead.rig.bend_radius_m))
    return sections_m(
        corridor.runs_m,
        corridor.over_m,
        corridor.under_m,
        corridor.bends_per_m,
        (least, greatest, step),
        (places.astype(np.int64), np.asarray(sines, dtype=float)),
    )


def _towards(ahead: Ahead, passings: Sequence[Passing], held_rods: int) -> int:
    """Up or down, as the rod after those held must be steered; 0 where no rod that was tried passes all."""
    from_m = ahead.steered_from_m(held_rods)
    for part in PARTS_OF_ROD:
        to_m = from_m + part * ahead.rod_run_m
        corridor = _corridor(ahead, passings, [from_m, to_m], [0.0] * len(passings))
        place = int(np.searchsorted(corridor.runs_m, to_m - SAME_RUN_M))
        ways = [
            [corridor.sines(angle, share, from_m)[: place + 1] for angle in ahead.angles_rad]
            for share in SHARES
        ]
        last = np.array([sines[-1] for way in ways for sines in way])
        sections = _sections(ahead, corridor, np.full(len(last), place), last)
        begun = corridor.up_to(place)
        for number, (share, way) in enumerate(zip(SHARES, ways, strict=True)):
            found = sections[number * len(way) : (number + 1) * len(way)]
            if all(_comes_into(ahead, begun, *one) for one in zip(way, found, strict=True)):
                return int(np.sign(share))
    return 0


def _comes_into(ahead: Ahead, begun: _Corridor, sines: FloatArray, section_m: FloatArray) -> bool:
    """Whether a way that was begun passes what lies along it, and ends where the rest can be passed."""
    least, greatest = _steepest(ahead)
    if sines.min() < least or sines.max() > greatest:
        return False
    heights = begun.heights_m(ahead.head.elevation_m, sines)
    if begun.misses(heights)[:-1].any():
        return False
    return bool(section_m[0] <= heights[-1] <= section_m[1])
