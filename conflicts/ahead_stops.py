"""What stops a crew that drills: the stop rules that the records, the rods and the look-ahead set off.

After the design's "While drilling". What only the crew can see is on the page in full all the same.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from conflicts.ahead_lengths import rough_length
from conflicts.as_drilled import AsDrilled
from conflicts.checks import Assessed
from conflicts.crossings_ahead import CrossingAhead
from conflicts.drilled import Drilled
from conflicts.engine.lookahead import Prospect, Side
from conflicts.head_errors import BlindRun, blind_runs
from conflicts.rod_log import RodLog
from conflicts.sentences import line_name, station_words
from conflicts.stop_rules import RULE_OF, StopCode
from conflicts.watch_table import stop_words

# A head deeper than the bottom of a watch hole counts from so many rods before it on: the next one passes it.
BELOW_HOLE_RODS = 1
WATCH_STOPPED = "A watch stopped the bore."
HOLE_NOT_CLEAR = "The drilled hole is not clear of a line."
LEG_NOT_CLEAR = "An abandoned hole is not clear of a line."
HEAD_NOT_KNOWN = "Where the head is, is not known."
READ_THE_HEAD = (
    "Stop. Read what is missing over the head, take the last rod's entry back and log it again with that. "
    "Where it cannot be read, pull back to the last rod at which it was."
)


@dataclass(frozen=True)
class Stop:
    """One stop: when, what to do first, and what of this bore it is about."""

    when: str
    then: str
    because: str


def told_once(stops: Iterable[Stop]) -> tuple[Stop, ...]:
    """Each rule once, in the order of the first stop by it, with all that set it off, a line each."""
    because: dict[tuple[str, str], dict[str, None]] = {}
    for one in stops:
        because.setdefault((one.when, one.then), {})[one.because] = None
    return tuple(Stop(when, then, "\n".join(filter(None, lines))) for (when, then), lines in because.items())


def rule_stop(code: StopCode, because: str) -> Stop:
    """A stop rule that holds, with what sets it off."""
    return Stop(RULE_OF[code].when, RULE_OF[code].then, because)


def record_stops(assessed: Assessed, release_words: Sequence[str] | None) -> list[Stop]:
    """Stops that the records set off, wherever the head is.

    Parameters
    ----------
    assessed : Assessed
    release_words : sequence of str or None
        Why no release is in force; None where one is.
    """
    found = []
    if release_words is not None:
        found.append(rule_stop(StopCode.NO_RELEASE, " ".join(release_words)))
    expired = [
        ticket.number
        for ticket in assessed.cover.touching
        if ticket.expires_at is not None and ticket.expires_at <= assessed.at
    ]
    if expired and assessed.cover.gaps_m:
        found.append(
            rule_stop(StopCode.TICKET_EXPIRED, f"{', '.join(expired)}; none in force covers all of the bore.")
        )
    found += watch_stops(assessed)
    for one in assessed.crossings:
        name = line_name(one.mark.operator, one.mark.ref)
        if one.mark.is_intact is False:
            found.append(rule_stop(StopCode.MARKS_LOST, f"The mark of {name} is reported gone."))
        if one.dig is not None and one.dig.missed_by:
            found.append(
                rule_stop(StopCode.LINE_NOT_FOUND, f"{name}: test hole {one.dig.missed_by} missed it.")
            )
    return list(dict.fromkeys(found))


def watch_stops(assessed: Assessed) -> list[Stop]:
    """Stops that watches set off; of a bore that is closed out, since then.

    Parameters
    ----------
    assessed : Assessed
    """
    return [Stop(WATCH_STOPPED, words, "") for words in stop_words(assessed)]


def rod_stops(assessed: Assessed, log: RodLog, drilled: Drilled) -> list[Stop]:
    """Stops that the rods in the ground set off.

    Parameters
    ----------
    assessed : Assessed
    log : RodLog
    drilled : Drilled

    Notes
    -----
    A reading out of line that somebody confirmed stands until the device is checked after it, or until the
    next rod is logged without one.
    """
    found = []
    last = drilled.head.rod
    checked = any(check.checked_at >= last.logged_at for check in log.checks)
    if last.is_in_doubt and not checked:
        found.append(
            rule_stop(
                StopCode.READING_OUT_OF_LINE,
                f"Rod {last.number} was kept as it reads by {last.logged_by}. A check of the device "
                "settles it.",
            )
        )
    found += _lost_head(assessed, log, drilled)
    for one in assessed.drilled_by(log).crossings:
        if one.stops:
            found.append(
                Stop(
                    HOLE_NOT_CLEAR,
                    "Stop. Do not enlarge the hole past it. Tell the safety manager and the line's operator.",
                    one.crossing.sentence,
                )
            )
    return found


def leg_stops(made: AsDrilled) -> list[Stop]:
    """Stops that abandoned legs set off: a line that one may have struck is looked at before anybody goes on.

    Parameters
    ----------
    made : AsDrilled

    Notes
    -----
    A variance for the hole as it was drilled there ends one, also of a leg that meets the line: nobody goes
    on through that hole, and whoever signs answers for what was found.
    """
    return [
        Stop(
            LEG_NOT_CLEAR,
            "Stop. Have the line looked at. Tell the safety manager and the line's operator: a variance for "
            "the hole as it was drilled there ends this stop.",
            f"{one.leg.name}, which was pulled back: {one.drilled.crossing.sentence}",
        )
        for one in made.legs
        if not one.drilled.is_answered
    ]


def _lost_head(assessed: Assessed, log: RodLog, drilled: Drilled) -> list[Stop]:
    """Where so much was drilled blind, or by so rough a dot, that nobody knows where the head is."""
    units = assessed.scene.inputs.job.show_units
    height, plan = blind_runs(assessed.scene, log.stated, [joint.rod for joint in drilled.joints])
    because = [
        _blind_words(run, *words, units)
        for run, words in (
            (height, ("depth", "up or down", "the steering allowance")),
            (plan, ("dot", "to either side", "the tolerance zone")),
        )
        if run.is_lost
    ]
    return [Stop(HEAD_NOT_KNOWN, READ_THE_HEAD, " ".join(because))] if because else []


def _blind_words(run: BlindRun, reading: str, ways: str, allowed: str, units: str) -> str:
    limit = f"allowed is {rough_length(run.allowed_m, units, 'down')}, {allowed}."
    off = f"{rough_length(run.read_off_m, units, 'up')} off past what the job states"
    if not run.rods:
        return f"The {reading} of rod {run.since} may be {off}; {limit}"
    since = "the entry" if run.since is None else f"rod {run.since}"
    rods = "1 rod" if run.rods == 1 else f"{run.rods} rods"
    itself = f", and that {reading} itself may be {off}" if run.read_off_m > 0.0 else ""
    return (
        f"No {reading} is read since {since}, over {rods}: the head may have strayed "
        f"{rough_length(run.drift_m, units, 'up')} {ways} meanwhile{itself}; {limit}"
    )


def ahead_stops(assessed: Assessed, drilled: Drilled, ahead: Sequence[CrossingAhead]) -> list[Stop]:
    """Stops that lie in what is ahead.

    Parameters
    ----------
    assessed : Assessed
    drilled : Drilled
    ahead : sequence of CrossingAhead
        By station.
    """
    units = assessed.scene.inputs.job.show_units
    found = []
    for one in ahead:
        found += _below_hole(one, drilled.head.depth_m, units)
        prospect = one.outlook.prospect
        place = f"{crossing_name(one)} at {station_words(one.station_m, units)}"
        if prospect is Prospect.UNKNOWN_DEPTH:
            found.append(
                Stop(
                    "The depth of a line ahead is not known.",
                    "Stop. Expose it first: nobody can tell whether the head will pass it.",
                    f"{place}: no test hole has found it.",
                )
            )
        elif prospect is Prospect.NO_CLEAR_DEPTH:
            found.append(rule_stop(StopCode.NO_CLEAR_DEPTH, f"{place}. {pull_back_words(one)}"))
        elif prospect is Prospect.OTHER_SIDE:
            found.append(
                Stop(
                    "A line ahead can no longer be passed as planned.",
                    "Stop. Pull back as far as is told, or plan anew before you drill on.",
                    f"{place}: no more {one.outlook.aim.side} it. {pull_back_words(one)} The rig could still "
                    f"pass {one.outlook.other.side} it, but nobody has looked at what follows.",
                )
            )
    return found


def crossing_name(one: CrossingAhead) -> str:
    """What people call the line of a crossing."""
    return line_name(one.crossing.mark.operator, one.crossing.mark.ref)


def pull_back_words(one: CrossingAhead) -> str:
    """How far to pull back, in words."""
    back = one.pull_back
    if back is None:
        return (
            "From no logged rod can it be passed as planned, with every other line of known depth ahead: "
            "pull back to the entry, or plan anew."
        )
    rods = "1 rod" if back.rods == 1 else f"{back.rods} rods"
    exit_words = " The exit can be met." if back.meets_exit else ""
    if not back.is_met:
        return (
            f"Pull back {rods}: from there the bore would not meet it. Every line of known depth ahead can "
            f"be passed.{exit_words}"
        )
    side = one.outlook.aim.side
    return (
        f"Pull back {rods}: from there it can still be passed {side}. So can every other line ahead whose "
        f"depth is known.{exit_words}"
    )


def _below_hole(one: CrossingAhead, depth_m: float, units: str) -> list[Stop]:
    """A head that reads below the bottom of the shallowest hole in which the next rod should be seen."""
    if one.outlook.rods_to_it > BELOW_HOLE_RODS:
        return []
    holes = [hole for hole in one.crossing.exposing_holes if hole.dug_depth_m is not None]
    shallowest = min(holes, key=lambda hole: hole.dug_depth_m or 0.0, default=None)
    if shallowest is None or shallowest.dug_depth_m is None or depth_m <= shallowest.dug_depth_m:
        return []
    read = rough_length(depth_m, units)
    dug = rough_length(shallowest.dug_depth_m, units)
    return [
        rule_stop(
            StopCode.HEAD_BELOW_HOLE,
            f"{crossing_name(one)}: the head is {read} deep, test hole {shallowest.ref} is dug to {dug}.",
        )
    ]


def side_words(side: Side) -> str:
    """Up or down to a side."""
    return "up" if side is Side.OVER else "down"
