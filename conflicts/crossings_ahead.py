"""The crossings ahead of the head: each by itself, all together, and how far to pull back for a lost one."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from conflicts.crossings import FoundCrossing
from conflicts.drilled import Drilled
from conflicts.engine.corridor_ahead import Ahead, Passing
from conflicts.engine.joint_ahead import Together, can_pass_all, look_ahead_together, pitch_to_tell
from conflicts.engine.lookahead import Joint, LineAhead, Outlook, Side, look_ahead, rods_to, rods_to_pull_back
from conflicts.engine.reach import Rig
from conflicts.exit_ahead import exit_of, to_exit, with_exit
from conflicts.rod_log import LocatingError
from conflicts.scene import Scene
from conflicts.way_ahead import Planned, WayAhead, head_at, line_ahead, met, planned_after_ratio, way_ahead

# Of this many lines that clash each side is tried for each.
MOST_TURNED = 4


@dataclass(frozen=True, eq=False)
class Drilling:
    """A bore that is being drilled.

    Attributes
    ----------
    scene : Scene
        Of the plan.
    planned : Planned
    drilled : Drilled
    rig : Rig
    stated : LocatingError
        What the job states of a located head.
    """

    scene: Scene
    planned: Planned
    drilled: Drilled
    rig: Rig
    stated: LocatingError

    def lines_met(
        self, way: WayAhead, crossings: Sequence[FoundCrossing], joint_place: int
    ) -> list[LineAhead]:
        """Crossings of a way from a joint on, as the look-ahead takes them."""
        joint = self.drilled.joints[joint_place]
        return [line_ahead(self.scene, self.planned, way, one, joint, self.stated)[0] for one in crossings]

    def lines_from(self, way: WayAhead, joint_place: int) -> list[LineAhead]:
        """Every line of known depth that a way from a joint on meets, by run."""
        crossings = met(self.scene.among_all_lines(), way, self.drilled.joints[joint_place])
        known = (one for one in self.lines_met(way, crossings, joint_place) if one.depth_is_known)
        return sorted(known, key=lambda one: one.run_m)


@dataclass(frozen=True)
class PullBack:
    """How far to pull back for a line that can no longer be passed.

    Attributes
    ----------
    rods : int
    is_met : bool
        Whether the bore would meet the line from there at all.
    meets_exit : bool
        Whether the exit can be met from there too, with every line before it.
    """

    rods: int
    is_met: bool = True
    meets_exit: bool = False


@dataclass(frozen=True, eq=False)
class CrossingAhead:
    """A crossing still ahead.

    Attributes
    ----------
    crossing : FoundCrossing
        On the way ahead, at the planned elevations.
    planned : int or None
        Its place among the planned crossings; None where the plan does not meet the line there.
    outlook : Outlook
    station_m : float
        Of the planned bore.
    begins_m : float
        How far ahead it begins: the crossing point; of a line alongside where the bore may come within its
        tolerance zone, zero where the head may be within it.
    stretch_m : tuple of float
        Planned stations between which the bore may run in its tolerance zone.
    rods_to_it : int
        The rod from now, 1 being the next, with which the bit comes to where it begins; 0 where it is there.
    required_m : float
        What is asked, less than required where a variance says so.
    ground_m : float
        Elevation of the ground where the outlook's elevations are told.
    pull_back : PullBack or None
        How far, until it can be passed as planned; no rod where it can, None where from no rod.
    """

    crossing: FoundCrossing
    planned: int | None
    outlook: Outlook
    station_m: float
    begins_m: float
    stretch_m: tuple[float, float]
    rods_to_it: int
    required_m: float
    ground_m: float
    pull_back: PullBack | None

    @property
    def is_alongside(self) -> bool:
        """Whether the bore runs beside the line."""
        return self.crossing.clearance.kind == "alongside"


@dataclass(frozen=True, eq=False)
class AllAhead:
    """The crossings ahead that can each be passed as planned, looked at together.

    Attributes
    ----------
    lines : tuple of CrossingAhead
        By run.
    found : Together
    told_rad : float or None
        The pitch to have at the end of the next rod; None where every one that could be told loses a line.
    pull_back : PullBack or None
        How far, until those that clash can all be passed, or a pitch can be told; no rod where that is so
        already, None where from no rod.
    other_sides : tuple of (CrossingAhead, Side)
        Of lines that clash, those that passed on these sides leave a way past all; empty where none do.
    """

    lines: tuple[CrossingAhead, ...]
    found: Together
    told_rad: float | None
    pull_back: PullBack | None = PullBack(0)
    other_sides: tuple[tuple[CrossingAhead, Side], ...] = ()

    @property
    def clashing(self) -> tuple[CrossingAhead, ...]:
        """The lines that cannot all be passed; empty where all can."""
        return () if self.found.clash is None else tuple(self.lines[one] for one in self.found.clash.places)


def crossings_ahead(drilling: Drilling, way: WayAhead) -> list[CrossingAhead]:
    """What lies in store at each crossing ahead of the head, by where it begins.

    Raises
    ------
    EngineError
        A head of which nothing can be foretold.
    """
    scene, head = drilling.scene, drilling.drilled.head
    found = []
    for crossing in met(scene.among_all_lines(), way, head):
        line, place, required_m = line_ahead(scene, drilling.planned, way, crossing, head, drilling.stated)
        outlook = look_ahead(head_at(head), drilling.rig, [line], level_turns=way.level_turns)[0]
        stretch_m = way.station_m(crossing.clearance.from_m), way.station_m(crossing.clearance.to_m)
        begins_m = crossing.clearance.from_m if crossing.clearance.kind == "alongside" else line.run_m
        one = CrossingAhead(
            crossing=crossing,
            planned=place,
            outlook=outlook,
            station_m=way.station_m(line.run_m),
            begins_m=max(0.0, begins_m),
            stretch_m=stretch_m,
            rods_to_it=rods_to(head_at(head), drilling.rig, begins_m),
            required_m=required_m,
            ground_m=float(scene.ground.at(way.station_m(outlook.at_m))),
            pull_back=PullBack(0),
        )
        found.append(one)
    lost = [
        one.crossing for one in found if not one.outlook.aim.can_be_met and one.outlook.line.depth_is_known
    ]
    back = _pull_back(drilling, lost)
    return sorted((_with_pull_back(one, back) for one in found), key=lambda one: one.begins_m)


def _with_pull_back(one: CrossingAhead, back: "_FromBack | None") -> CrossingAhead:
    if one.outlook.aim.can_be_met:
        return one
    if back is None or not one.outlook.line.depth_is_known:
        return replace(one, pull_back=None)
    is_met = one.crossing.mark.mark_id in back.met_ids
    return replace(one, pull_back=PullBack(back.rods, is_met, back.meets_exit))


def all_ahead(drilling: Drilling, way: WayAhead, ahead: Sequence[CrossingAhead]) -> AllAhead:
    """What lies in store at the crossings that can each be passed, one after the other.

    Parameters
    ----------
    drilling : Drilling
    way : WayAhead
    ahead : sequence of CrossingAhead

    Notes
    -----
    A crossing that cannot be passed by itself stops already; the others are asked about without it.
    """
    lines = sorted(
        (one for one in ahead if one.outlook.aim.can_be_met), key=lambda one: one.outlook.line.run_m
    )
    asked = Ahead(head_at(drilling.drilled.head), drilling.rig, way.level_turns)
    found = look_ahead_together(asked, [one.outlook.line for one in lines])
    told_rad = _told_rad(drilling, asked, [one.outlook.line for one in lines], found, -1)
    if told_rad is not None:
        return AllAhead(tuple(lines), found, told_rad)
    lost = lines if found.clash is None else [lines[place] for place in found.clash.places]
    back = _pull_back(drilling, [one.crossing for one in lost])
    turned = _other_sides(asked, lines, found)
    pull_back = None if back is None else PullBack(back.rods, meets_exit=back.meets_exit)
    return AllAhead(tuple(lines), found, None, pull_back, turned)


def _told_rad(
    drilling: Drilling, asked: Ahead, lines: Sequence[LineAhead], found: Together, joint_place: int
) -> float | None:
    """The pitch to have at the end of the next rod from a joint."""
    joint = drilling.drilled.joints[joint_place]
    planned_rad = float(np.arctan(planned_after_ratio(drilling.scene, joint, drilling.rig)))
    return pitch_to_tell(asked, lines, found, planned_rad)


def _other_sides(
    asked: Ahead, lines: Sequence[CrossingAhead], found: Together
) -> tuple[tuple[CrossingAhead, Side], ...]:
    """Other sides of lines that clash with which all can be passed, as few as can be."""
    places = () if found.clash is None else found.clash.places
    if len(places) > MOST_TURNED:
        return ()
    for turned in sorted(product((False, True), repeat=len(places)), key=sum):
        others = {place for place, is_turned in zip(places, turned, strict=True) if is_turned}
        passings = [
            Passing(one.outlook.line, side.other if place in others else side)
            for place, (one, side) in enumerate(zip(lines, found.sides, strict=True))
        ]
        if others and can_pass_all(asked, passings):
            return tuple((lines[place], passings[place].side) for place in sorted(others))
    return ()


@dataclass(frozen=True)
class _FromBack:
    """The joint from which every line ahead can be passed: how far back, and what is met from it."""

    rods: int
    met_ids: frozenset[str]
    meets_exit: bool = False


def _pull_back(drilling: Drilling, lost: Sequence[FoundCrossing]) -> _FromBack | None:
    """How far to pull back until every line ahead can be passed, the lost and all others, and the exit met.

    Notes
    -----
    From a joint farther back other lines are ahead too, and what passes the lost ones may lose another. A
    line of unknown depth stops the crew from wherever the head is: no pulling back changes that. The lost
    lines are asked for first, for that is quick. Where the exit can be met from no joint with all of them,
    the lines count alone.
    """
    if not lost:
        return None
    scene, joints = drilling.scene, drilling.drilled.joints
    alone = replace(scene, lines=tuple({id(one.line): one.line for one in lost}.values()))
    lines_alone = None
    for place in reversed(range(len(joints) - 1)):
        way = way_ahead(scene, joints[place], drilling.rig)
        if way is None or not _all_passable(drilling, way, met(alone, way, joints[place]), place):
            continue
        every = met(scene.among_all_lines(), way, joints[place])
        if not _all_passable(drilling, way, every, place):
            continue
        found = _FromBack(len(joints) - 1 - place, frozenset(one.mark.mark_id for one in every))
        if exit_and_all_met(drilling, way, drilling.lines_from(way, place), place):
            return replace(found, meets_exit=True)
        lines_alone = lines_alone or found
    return lines_alone


def _all_passable(
    drilling: Drilling, way: WayAhead, crossings: Sequence[FoundCrossing], joint_place: int
) -> bool:
    """Whether a pitch can be told at a joint with which every crossing of known depth can be passed.

    A line is met elsewhere from there where the hole strayed or the line is oblique: each crossing counts.
    """
    lines = sorted(
        (one for one in drilling.lines_met(way, crossings, joint_place) if one.depth_is_known),
        key=lambda one: one.run_m,
    )
    asked = Ahead(head_at(drilling.drilled.joints[joint_place]), drilling.rig, way.level_turns)
    each = [Joint(asked.head, one, asked.level_turns) for one in lines]
    if any(rods_to_pull_back([one], drilling.rig) != 0 for one in each):
        return False
    found = look_ahead_together(asked, lines)
    return _told_rad(drilling, asked, lines, found, joint_place) is not None


def exit_and_all_met(drilling: Drilling, way: WayAhead, lines: Sequence[LineAhead], joint_place: int) -> bool:
    """Whether a pitch can be told at a joint with which the exit can be met, and lines before it passed.

    Parameters
    ----------
    drilling : Drilling
    way : WayAhead
        From the joint on.
    lines : sequence of LineAhead
        That it meets, of known depth.
    joint_place : int
    """
    scene, rig, joint = drilling.scene, drilling.rig, drilling.drilled.joints[joint_place]
    now = to_exit(scene, joint, rig, way, exit_of(scene, drilling.stated))
    if not now.can_be_met:
        return False
    every = with_exit(lines, now)
    asked = Ahead(head_at(joint), rig, way.level_turns if lines else now.bends)
    return _told_rad(drilling, asked, every, look_ahead_together(asked, every), joint_place) is not None
