"""The sheet for the rig: where the head is, what comes next, and whether to steer, in words and figures."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from enum import StrEnum
from typing import Any

from conflicts.ahead_first_rod import first_rod
from conflicts.ahead_lengths import rough_length
from conflicts.ahead_stops import (
    Stop,
    ahead_stops,
    crossing_name,
    leg_stops,
    record_stops,
    rod_stops,
    told_once,
    watch_stops,
)
from conflicts.ahead_words import (
    Told,
    clear_words,
    prospect_words,
    reach_words,
    rods_words,
    row_where,
    where_words,
)
from conflicts.bit_ahead import bit_ahead, bit_words
from conflicts.checks import Assessed, crossing_excuse
from conflicts.crossings_ahead import AllAhead, CrossingAhead, Drilling, all_ahead, crossings_ahead
from conflicts.drilled import Drilled
from conflicts.engine.errors import EngineError
from conflicts.engine.lookahead import Prospect
from conflicts.engine.reach import Rig
from conflicts.exit_and_lines import exit_stops
from conflicts.exit_steering import ExitNext, exit_next
from conflicts.found_since import found_since
from conflicts.next_rod import as_told, next_rod_words, turning
from conflicts.passed_unwatched import passed_unwatched
from conflicts.plan_end import plan_end_stop
from conflicts.rod_log import RodLog
from conflicts.scene import Scene
from conflicts.sentences import station_words
from conflicts.together_words import Steer, clash_row_words, clash_stops, no_pitch_stops, steering
from conflicts.watch_table import watch_table
from conflicts.way_ahead import (
    Planned,
    WayAhead,
    head_at,
    planned_pitch_ratio,
    rig_of,
    way_ahead,
)
from locates.units import format_grade

# Nearer than this to the plan is on it, m: half an inch, finer than any head is located.
ON_PLAN_M = 0.0127


class Advice(StrEnum):
    """What the crew is told. There is no word for holding: it could be read as holding the pitch."""

    STOP = "stop"
    LOG_FIRST = "log_first"
    STEER_NOW = "steer_now"
    STEER_BY = "steer_by"
    GO_ON = "go_on"
    DONE = "done"


@dataclass(frozen=True)
class AheadRow:
    """One crossing ahead in the table, ready to be read."""

    line: str
    where: str
    rods: str
    reach: str
    clear: str
    prospect: str
    place: int | None
    is_stopped: bool


@dataclass(frozen=True)
class AheadSheet:
    """All that the page for the rig shows."""

    advice: Advice
    answer: Told
    head: Told
    coming: Told
    stops: tuple[Stop, ...] = ()
    rows: tuple[AheadRow, ...] = ()
    rod: int | None = field(default=None)

    @property
    def told_stops(self) -> tuple[Stop, ...]:
        """The stops as they are told: a rule that several lines set off stands once."""
        return told_once(self.stops)

    def document(self) -> dict[str, Any]:
        """The sheet as JSON values."""
        stops = [asdict(one) for one in self.told_stops]
        return {**asdict(self), "advice": str(self.advice), "stops": stops}


NOT_KNOWN = "Not known"
NO_RIG = Stop(
    "What the rig can steer is not recorded.",
    "Stop. Enter its rod length and bend radius with the bore: without them nothing ahead is known.",
    "",
)
NO_PATH = Stop("What was logged gives no path.", "Stop. Look at the rods that were logged.", "")
FOUND_SINCE = "Found since the bore was closed out."
STOP_WORDS = "Stop. Do not drill on"


def ahead_sheet(
    assessed: Assessed, log: RodLog, *, release_words: Sequence[str] | None, is_closed_out: bool = False
) -> AheadSheet:
    """The sheet of a bore at a moment.

    Parameters
    ----------
    assessed : Assessed
        The plan as the records are now.
    log : RodLog
    release_words : sequence of str or None
        Why no release is in force; None where one is.
    is_closed_out : bool
        The bore is drilled and closed out.
    """
    if is_closed_out:
        return _closed_out(watch_stops(assessed), found_since(assessed))
    stops = record_stops(assessed, release_words)
    rig = rig_of(assessed.scene.inputs.rig)
    try:
        made = assessed.drilled_by(log)
        if made.problem:
            return _blind(stops, replace(NO_PATH, because=made.problem), Told(NOT_KNOWN))
        stops += leg_stops(made)
        drilled = made.path
        if drilled is None:
            return _before_rods(assessed, stops, rig)
        stops += rod_stops(assessed, log, drilled)
        place = _with_unwatched(head_told(assessed.scene, drilled, rig), assessed)
        if rig is None:
            return replace(_blind(stops, NO_RIG, place), rod=drilled.head.rod.number)
        drilling = Drilling(assessed.scene, _planned(assessed), drilled, rig, log.stated)
        way = way_ahead(assessed.scene, drilled.head, rig)
        if way is None:
            return replace(_past(stops, plan_end_stop(drilling), place), rod=drilled.head.rod.number)
        return _foretold(assessed, drilling, way, stops, place)
    except EngineError as error:
        return _blind(stops, replace(NO_PATH, because=str(error)), Told(NOT_KNOWN))


def _with_unwatched(place: Told, assessed: Assessed) -> Told:
    """Where the head is, with the lines first that it is past while nobody signed a watch."""
    # Whether there is reaming to watch besides is not asked here.
    told = passed_unwatched(assessed, watch_table(assessed, None))
    return replace(place, lines=(told, *place.lines)) if told else place


def _foretold(
    assessed: Assessed, drilling: Drilling, way: WayAhead, stops: list[Stop], place: Told
) -> AheadSheet:
    """A sheet on which what lies ahead is known, each line by itself and all together."""
    units, drilled = drilling.scene.inputs.job.show_units, drilling.drilled
    ahead = crossings_ahead(drilling, way)
    together = all_ahead(drilling, way, ahead)
    leaving = exit_next(drilling, way, together)
    every = (
        *stops,
        *ahead_stops(assessed, drilled, ahead),
        *clash_stops(drilled, together, units),
        *no_pitch_stops(drilled, together, units),
        *exit_stops(drilling, way),
        *([leaving.height.stop] if leaving.height.stop else []),
    )
    head_rad = head_at(drilled.head).angle_rad
    steer = leaving.sooner(steering(ahead, together, head_rad, units))
    steer = as_told(steer, together, leaving.height, head_rad)
    return AheadSheet(
        advice=advice_of(every, steer),
        answer=_stopped(every) if every else _answer(drilling, way, together, steer, leaving),
        head=place,
        coming=_coming(drilling.scene, ahead),
        stops=every,
        rows=tuple(_row(one, clash_row_words(together, one), units) for one in ahead),
        rod=drilled.head.rod.number,
    )


def _closed_out(stops: list[Stop], found: Sequence[str]) -> AheadSheet:
    """The sheet of a bore that is closed out, with what a watch stopped and what was found since."""
    if not (stops or found):
        closed = Told("Closed out", ("The bore is drilled and closed out. Nothing lies ahead.",))
        return AheadSheet(Advice.DONE, closed, Told("Drilled"), Told("Nothing"))
    why = "A watch signed since set off a stop." if stops else "What was found since speaks against it."
    since = Told("Stop", (f"The bore is drilled and closed out. {why}",))
    every = (*stops, *(Stop(FOUND_SINCE, words, "") for words in found))
    return AheadSheet(Advice.STOP, since, Told("Drilled"), Told("Nothing"), every)


def unread(refusal: str) -> AheadSheet:
    """The sheet of a bore of which no figure can be computed."""
    stop = Stop("No figure can be computed.", "Stop. Mend the records first.", refusal)
    return _blind([], stop, Told(NOT_KNOWN))


def _blind(stops: list[Stop], why: Stop, head: Told) -> AheadSheet:
    """A sheet on which what lies ahead is not known."""
    every = (*stops, why)
    return AheadSheet(Advice.STOP, _stopped(every), head, Told(NOT_KNOWN, (why.then,)), every)


def _before_rods(assessed: Assessed, stops: list[Stop], rig: Rig | None) -> AheadSheet:
    """A sheet without a rod in the ground by the log: the plan says what comes next."""
    head = Told("At the entry", ("By the log no rod is in the ground.",))
    if rig is None:
        return _blind(stops, NO_RIG, head)
    answer, coming = first_rod(assessed, rig)
    if stops:
        return AheadSheet(Advice.STOP, _stopped(stops), head, coming, tuple(stops))
    return AheadSheet(Advice.LOG_FIRST, answer, head, coming)


def _past(stops: list[Stop], ended: Stop | None, place: Told) -> AheadSheet:
    """A sheet with nothing of the plan ahead: the head is at the exit, or no planned way leads on."""
    if ended is not None:
        return _blind(stops, ended, place)
    told = Told("The exit", ("The head is at the end of the planned bore.",))
    if stops:
        return AheadSheet(Advice.STOP, _stopped(stops), place, told, tuple(stops))
    done = Told("At the exit", ("No line of the plan lies ahead.",))
    return AheadSheet(Advice.DONE, done, place, told)


def _planned(assessed: Assessed) -> Planned:
    """The planned crossings; under a variance for one that is short, what the plan leaves is asked."""
    asked = []
    for one in assessed.crossings:
        worst_m, required_m = one.clearance.worst_case_m, one.required_m
        if worst_m is not None and worst_m < required_m and crossing_excuse(assessed, one) is not None:
            required_m = worst_m
        asked.append(required_m)
    return Planned(assessed.crossings, asked)


def head_told(scene: Scene, drilled: Drilled, rig: Rig | None) -> Told:
    """Where the head is against the plan.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    drilled : Drilled
    rig : Rig or None
    """
    joint, units = drilled.head, scene.inputs.job.show_units
    off = [
        f"{rough_length(abs(away), units)} {more if away > 0.0 else less}"
        for away, more, less in ((joint.deeper_m, "too deep", "too high"), (joint.right_m, "right", "left"))
        if abs(away) >= ON_PLAN_M
    ]
    depth = f"{rough_length(joint.depth_m, units)} deep"
    lines = [
        f"Rod {joint.rod.number} ends at {station_words(joint.station_m, units)}, {depth}: the antenna.",
        f"It may be off by {rough_length(joint.vertical_error_m, units, 'up')} in depth and "
        f"{rough_length(joint.horizontal_error_m, units, 'up')} sideways.",
        bit_words(bit_ahead(scene, joint), units),
        f"Pitch {format_grade(joint.rod.pitch_ratio)}, planned here "
        f"{format_grade(planned_pitch_ratio(scene, joint.station_m))}.",
    ]
    if joint.rod.depth_m is None:
        lines.append("No depth was read at this rod: it is worked out from the pitch.")
    return Told(", ".join(off) if off else "On plan", tuple(lines))


def _stopped(stops: Sequence[Stop]) -> Told:
    return Told(STOP_WORDS, tuple(dict.fromkeys(one.when for one in stops)))


def advice_of(stops: Sequence[Stop], steer: Steer | None) -> Advice:
    """What the crew is told: to steer only where the next rod, or a later one, turns the head."""
    if stops:
        return Advice.STOP
    if steer is None or not steer.is_turning:
        return Advice.GO_ON
    return Advice.STEER_BY if steer.held_rods else Advice.STEER_NOW


def _answer(
    drilling: Drilling, way: WayAhead, together: AllAhead, steer: Steer | None, leaving: ExitNext
) -> Told:
    large, lines = next_rod_words(drilling, way, together, steer, leaving.height)
    towards, why = (leaving.turn, leaving.why) if leaving.turn else turning(drilling)
    if not towards:
        return Told(large, lines)
    # The turn begins with the next rod, whichever the pitch waits for.
    when = " now" if steer is not None and steer.held_rods and steer.is_turning else ""
    return Told(f"{large}, and turn {towards}{when}", (*lines, why))


def _coming(scene: Scene, ahead: Sequence[CrossingAhead]) -> Told:
    if not ahead:
        return Told("No line", ("The plan meets no marked line from here on.",))
    units, one = scene.inputs.job.show_units, ahead[0]
    required = rough_length(one.required_m, units, "up")
    lines = [
        f"{crossing_name(one)}, {where_words(one, units)}, "
        f"{rough_length(one.begins_m, units)} ahead; {required} asked.",
        f"Clear there: {clear_words(one, units)}.",
        f"The rig can reach: {reach_words(one, units)}.",
    ]
    return Told(f"{one.crossing.mark.ref} {rods_words(one.rods_to_it)}", tuple(lines))


def _row(one: CrossingAhead, clash: str | None, units: str) -> AheadRow:
    return AheadRow(
        line=crossing_name(one),
        where=row_where(one, units),
        rods=rods_words(one.rods_to_it),
        reach=reach_words(one, units),
        clear=clear_words(one, units),
        prospect=clash or prospect_words(one.outlook),
        place=one.planned,
        is_stopped=clash is not None or one.outlook.prospect not in (Prospect.STRAIGHT, Prospect.STEER),
    )
