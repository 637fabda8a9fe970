"""The look-ahead: whether a line ahead can still be passed with what is required, and until when to steer."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np

from conflicts.engine.errors import LookAheadError
from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_limits import Obstacle
from conflicts.engine.reach import Head, LevelTurn, Rig, SteeredWay, bit_run_m, reachable_elevations, steered

# Places between two at which a line ahead is asked for, m: as the engine samples a crossing's worst case.
SAMPLE_M = 0.05
# A crossing point so little past the end of a rod, as a part of it, is reached by it.
SAME_ROD = 1e-6


class Side(StrEnum):
    """How a bore passes a line."""

    OVER = "over"
    UNDER = "under"

    @property
    def upward(self) -> int:
        """1 where one steers up to it, -1 where down."""
        return 1 if self is Side.OVER else -1

    @property
    def other(self) -> "Side":
        """The opposite one."""
        return Side.UNDER if self is Side.OVER else Side.OVER


class Prospect(StrEnum):
    """What lies in store at a line ahead, worst last."""

    STRAIGHT = "straight"
    STEER = "steer"
    OTHER_SIDE = "other_side"
    NO_CLEAR_DEPTH = "no_clear_depth"
    UNKNOWN_DEPTH = "unknown_depth"


@dataclass(frozen=True, eq=False)
class LineAhead:
    """A line ahead of the head, its places along the run from the head.

    Attributes
    ----------
    obstacle : Obstacle
        From its first run to its last; a part behind the head counts no more.
    run_m : float
        Of the crossing point.
    depth_is_known : bool
    planned : Side or None
        How the plan passes it; None where no plan tells.
    ceiling_m : float
        Elevation that the hole's centre may not exceed there, for cover; infinite where none is asked.
    """

    obstacle: Obstacle
    run_m: float
    depth_is_known: bool
    planned: Side | None
    ceiling_m: float = np.inf

    @cached_property
    def edges(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Runs along the line with the elevations between which too little is left, lower and upper."""
        low, high = max(0.0, self.obstacle.from_m), self.obstacle.to_m
        if not low <= high:
            raise LookAheadError("a line ahead of the head ends behind it")
        even = np.linspace(low, high, max(2, int(np.ceil((high - low) / SAMPLE_M)) + 1))
        runs = np.unique(np.append(even, np.clip(self.run_m, low, high)))
        lower, upper = self.obstacle.edges_m(runs, 0.0)
        return runs, lower, upper

    def is_passed(self, way: SteeredWay, side: Side) -> bool:
        """Whether a way passes on a side with what is required, at every place of the line.

        Where the required clearance over the line leaves no room below the ceiling, no way passes over it.
        """
        return self.missed_m(way, side) is None

    def missed_m(self, way: SteeredWay, side: Side) -> float | None:
        """The first run at which a way does not pass the line on a side; None where it passes all along."""
        runs, lower, upper = self.edges
        # Where every elevation has the margin there is no edge, and no side.
        near = ~np.isnan(upper)
        heights = way.at(runs[near])
        if side is Side.OVER:
            missed = (heights < upper[near]) | (upper[near] > self.ceiling_m)
        else:
            missed = heights > lower[near]
        return float(runs[near][missed.argmax()]) if missed.any() else None


@dataclass(frozen=True)
class Beginning:
    """How long the pitch can be held before steering to a side of a line must begin.

    Attributes
    ----------
    side : Side
    can_be_met : bool
        Whether this side can still be had.
    straight_rods : int or None
        Rods that can still be drilled at this pitch before steering must begin with the next, 0 for at once.
        None where holding the pitch passes the line on this side, or where nothing does.
    """

    side: Side
    can_be_met: bool
    straight_rods: int | None

    @property
    def is_met_straight(self) -> bool:
        """Whether holding the pitch passes the line on this side."""
        return self.can_be_met and self.straight_rods is None


@dataclass(frozen=True)
class Outlook:
    """What lies in store at one line ahead.

    Attributes
    ----------
    line : LineAhead
    prospect : Prospect
    aim : Beginning
        Of the side that the plan takes; without a plan of the one that needs less.
    other : Beginning
        Of the opposite side.
    at_m : float
        Where the elevations that follow are told: the crossing point; of a line that can no longer be passed
        as aimed, the first place at which the way that steers the most does not.
    lowest_m, highest_m : float
        Elevations that can be reached for sure there.
    lower_m, upper_m : float
        Elevations there between which too little would be left; NaN where every one has enough, infinite
        where the line's depth is unknown.
    rods_to_it : int
        The rod from now, 1 being the next, with which the bit reaches the crossing point; 0 where it is past.
    """

    line: LineAhead
    prospect: Prospect
    aim: Beginning
    other: Beginning
    at_m: float
    lowest_m: float
    highest_m: float
    lower_m: float
    upper_m: float
    rods_to_it: int


@dataclass(frozen=True, eq=False)
class Joint:
    """The head at a joint of the rods, with a line and the turns of the plan as seen from there."""

    head: Head
    line: LineAhead
    level_turns: tuple[LevelTurn, ...] = ()


def look_ahead(
    head: Head, rig: Rig, lines: Sequence[LineAhead], *, level_turns: tuple[LevelTurn, ...] = ()
) -> list[Outlook]:
    """What lies in store at each line ahead, by its crossing point.

    Parameters
    ----------
    head : Head
    rig : Rig
    lines : sequence of LineAhead
    level_turns : tuple of LevelTurn
        Where the way ahead turns in plan.

    Returns
    -------
    list of Outlook
        Each line by itself: that all can be passed one after the other is for `joint_ahead` to say.

    Raises
    ------
    LookAheadError
        A line that ends behind the head.

    Notes
    -----
    Exact for the steering limit: of all ways that a rig can steer, that which steers up with the most it has
    from its beginning on is nowhere lower than another, so a side is out of reach exactly where it is for
    that way. A pitch that may be read wrongly counts against the side that is asked for.
    """
    found = [_outlook(Joint(head, line, level_turns), rig) for line in lines]
    return sorted(found, key=lambda one: one.line.run_m)


def rods_to_pull_back(joints: Sequence[Joint], rig: Rig) -> int | None:
    """How many rods to pull back until a line can be passed again as planned.

    Parameters
    ----------
    joints : sequence of Joint
        The present one first, then one rod back after the other.
    rig : Rig

    Returns
    -------
    int or None
        0 where nothing has to be pulled; None where from no joint given the line can be passed.

    Notes
    -----
    Without a planned side either will do. That the head takes a new way out of the old hole there is not
    said: it is the crew's to judge.
    """
    for rods, joint in enumerate(joints):
        sides = [joint.line.planned] if joint.line.planned else list(Side)
        if any(beginning(joint, rig, side).can_be_met for side in sides):
            return rods
    return None


def beginning(joint: Joint, rig: Rig, side: Side) -> Beginning:
    """How many rods can still be drilled at this pitch before steering to a side of a line must begin.

    Parameters
    ----------
    joint : Joint
        A line of unknown depth can be passed on no side.
    rig : Rig
    side : Side

    Notes
    -----
    The later the steering begins, the nearer its way is to the line, so the rods that can be held are
    counted up from none until one is too many. A turn begun at the bit is read at the antenna only once that
    has come as far, and until then the hole ahead counts as straight. So the rods told leave one lead to
    spare: whoever begins with the last of them and steers with all there is has turned, at any run x from
    where the antenna was then, as far as from the bit on; each later reading asks for no more than x less two
    leads leaves.
    """
    head, line = joint.head, joint.line
    if not line.depth_is_known:
        return Beginning(side, False, None)
    off_rad = -side.upward * head.angle_error_rad
    if line.is_passed(steered(head, rig, 0, angle_off_rad=off_rad), side):
        return Beginning(side, True, None)
    rod_run_m = rig.rod_length_m * float(np.cos(head.angle_rad))

    def is_passed(straight_m: float) -> bool:
        way = steered(
            head,
            rig,
            side.upward,
            straight_m=straight_m,
            angle_off_rad=off_rad,
            level_turns=joint.level_turns,
        )
        return line.is_passed(way, side)

    if not is_passed(0.0):
        return Beginning(side, False, None)
    rods = 0
    while is_passed((rods + 1) * rod_run_m + rig.bit_lead_m):
        rods += 1
    return Beginning(side, True, rods)


def _outlook(joint: Joint, rig: Rig) -> Outlook:
    head, line = joint.head, joint.line
    aim, other = _aimed([beginning(joint, rig, side) for side in Side], line.planned)
    at_m = max(0.0, line.run_m)
    lower, upper = -np.inf, np.inf
    if line.depth_is_known:
        if not aim.can_be_met:
            at_m = _missed_m(joint, rig, aim.side)
        runs, all_lower, all_upper = line.edges
        nearest = int(np.abs(runs - at_m).argmin())
        lower, upper = float(all_lower[nearest]), float(all_upper[nearest])
    band = reachable_elevations(head, rig, [at_m], level_turns=joint.level_turns)
    return Outlook(
        line=line,
        prospect=_prospect(line, aim, other),
        aim=aim,
        other=other,
        at_m=at_m,
        lowest_m=float(band.lowest_m[0]),
        highest_m=min(line.ceiling_m, float(band.highest_m[0])),
        lower_m=lower,
        upper_m=upper,
        rods_to_it=rods_to(head, rig, line.run_m),
    )


def rods_to(head: Head, rig: Rig, run_m: float) -> int:
    """The rod from now, 1 being the next, with which the bit reaches a run; 0 where it is past.

    Parameters
    ----------
    head : Head
    rig : Rig
    run_m : float
        From the head.
    """
    rods = (max(0.0, run_m) - bit_run_m(head, rig)) / (rig.rod_length_m * np.cos(head.angle_rad))
    return max(0, int(np.ceil(rods - SAME_ROD)))


def _missed_m(joint: Joint, rig: Rig, side: Side) -> float:
    """The first run at which the way that steers the most to a side does not pass the line there."""
    off_rad = -side.upward * joint.head.angle_error_rad
    way = steered(joint.head, rig, side.upward, angle_off_rad=off_rad, level_turns=joint.level_turns)
    missed_m = joint.line.missed_m(way, side)
    return max(0.0, joint.line.run_m) if missed_m is None else missed_m


def _aimed(both: list[Beginning], planned: Side | None) -> tuple[Beginning, Beginning]:
    """The side to steer for and the other: the planned one, else the one that needs less."""
    if planned is not None:
        first, last = sorted(both, key=lambda one: one.side is not planned)
    else:
        first, last = sorted(
            both, key=lambda one: (not one.can_be_met, not one.is_met_straight, -(one.straight_rods or 0))
        )
    return first, last


def _prospect(line: LineAhead, aim: Beginning, other: Beginning) -> Prospect:
    if not line.depth_is_known:
        return Prospect.UNKNOWN_DEPTH
    if aim.can_be_met:
        return Prospect.STRAIGHT if aim.is_met_straight else Prospect.STEER
    return Prospect.OTHER_SIDE if other.can_be_met else Prospect.NO_CLEAR_DEPTH
