"""The stop rules: on which the crew stops at once, each with what has to be done first.

After the design's "While drilling". What the site's records tell is evaluated; the rest the crew has to see.
"""

from dataclasses import dataclass
from enum import StrEnum

from conflicts.faults import Fault
from conflicts.site_records import WatchInput
from locates.local_time import format_moment
from locates.units import format_length


class StopCode(StrEnum):
    """What stops the crew."""

    NO_RELEASE = "no_release"
    TICKET_EXPIRED = "ticket_expired"
    GAP_SHORT = "gap_short"
    HEAD_BELOW_HOLE = "head_below_hole"
    LINE_NOT_FOUND = "line_not_found"
    MARKS_LOST = "marks_lost"
    READING_OUT_OF_LINE = "reading_out_of_line"
    NO_CLEAR_DEPTH = "no_clear_depth"


@dataclass(frozen=True)
class StopRule:
    """When to stop, and what has to be done before anybody goes on."""

    code: StopCode
    when: str
    then: str


STOP_RULES = (
    StopRule(
        StopCode.NO_RELEASE,
        "No release is in force for this bore.",
        "Stop. Do not rotate, push or pull until the bore is released again.",
    ),
    StopRule(
        StopCode.TICKET_EXPIRED,
        "A ticket that covers the bore has expired.",
        "Stop. Call the one-call centre, and wait until the new ticket may be worked under.",
    ),
    StopRule(
        StopCode.GAP_SHORT,
        "The gap measured in the test hole is less than required.",
        "Stop. Do not enlarge the hole past this line. Measure again, tell the safety manager and the line's "
        "operator, and go on only with a new profile or a signed variance.",
    ),
    StopRule(
        StopCode.HEAD_BELOW_HOLE,
        "The head reads below the bottom of the test hole.",
        "Stop. Dig the hole deeper first: a head that passes under it is not seen. Then watch it pass.",
    ),
    StopRule(
        StopCode.LINE_NOT_FOUND,
        "A line is not found where it should be.",
        "Stop. Have it located and exposed again; nobody knows where it lies.",
    ),
    StopRule(
        StopCode.MARKS_LOST,
        "Marks are lost or can no longer be read.",
        "Stop. Ask for a re-mark, and check the test holes against it.",
    ),
    StopRule(
        StopCode.READING_OUT_OF_LINE,
        "A reading is out of line with the rod before it.",
        "Stop. Read again, check the device over a known depth, and do not go on with a reading in doubt.",
    ),
    StopRule(
        StopCode.NO_CLEAR_DEPTH,
        "No depth that the rig can still reach is clear at the next crossing.",
        "Stop. Pull back as far as is told, and steer anew.",
    ),
)

RULE_OF = {rule.code: rule for rule in STOP_RULES}


def stops_of_watch(watch: WatchInput) -> tuple[StopRule, ...]:
    """The stop rules that a watch set off.

    Parameters
    ----------
    watch : WatchInput
        Gaps and depths in metres; the bottom of the watch hole is None where nobody recorded it.

    Notes
    -----
    A gap below what was required then or is asked since, and a head read below the hole's bottom as it was
    recorded then or is now. A bottom that is not known sets off nothing: `bottom_is_unknown` says so.
    """
    found = []
    if watch.gap_m is not None and watch.gap_m < watch.held_to_m:
        found.append(RULE_OF[StopCode.GAP_SHORT])
    if _is_below(watch, watch.held_bottom_m):
        found.append(RULE_OF[StopCode.HEAD_BELOW_HOLE])
    return tuple(found)


def stop_fault(watch: WatchInput, units: str, time_zone: str) -> Fault:
    """A watch that set off a stop rule, as a variance for its pass is bound to it.

    Parameters
    ----------
    watch : WatchInput
    units : {"feet", "metric"}
    time_zone : str
        IANA name.
    """
    read = []
    if watch.gap_m is not None:
        required = format_length(watch.required_m, units, "up")
        since = f" then, {format_length(watch.asked_m, units, 'up')} since" if is_raised(watch) else ""
        read.append(f"gap {format_length(watch.gap_m, units, 'down')}, {required} required{since}")
    if watch.head_depth_m is not None and watch.held_bottom_m is not None:
        now = f", {format_length(watch.bottom_now_m, units)} deep since" if is_shallower(watch) else ""
        read.append(
            f"head read {format_length(watch.head_depth_m, units)} deep, hole recorded "
            f"{_depth_then(watch, units)} then{now}"
        )
    rules = " ".join(rule.when for rule in stops_of_watch(watch))
    when = format_moment(watch.watched_at, time_zone)
    return Fault(watch.watch_id, f"Watched {when} by {watch.watched_by}: {'; '.join(read)}. {rules}")


def is_raised(watch: WatchInput) -> bool:
    """Whether more is asked of its crossing than was when it was watched."""
    return watch.held_to_m > watch.required_m


def _is_below(watch: WatchInput, bottom_m: float | None) -> bool:
    return watch.head_depth_m is not None and bottom_m is not None and watch.head_depth_m > bottom_m


def is_shallower(watch: WatchInput) -> bool:
    """Whether the head was read below the hole as it is recorded now, and not as it was then."""
    return _is_below(watch, watch.bottom_now_m) and not _is_below(watch, watch.hole_bottom_m)


def since_words(watch: WatchInput, units: str) -> str:
    """Sentences on what is asked or recorded since it was watched that sets off a stop; empty where nothing.

    Parameters
    ----------
    watch : WatchInput
    units : {"feet", "metric"}
    """
    told = []
    if watch.gap_m is not None and is_raised(watch):
        gap = format_length(watch.gap_m, units, "down")
        then, now = (format_length(one, units, "up") for one in (watch.required_m, watch.held_to_m))
        told.append(f"The gap is {gap}: {then} was required when it was watched, {now} is now.")
    if is_shallower(watch):
        head, now = (format_length(one, units) for one in (watch.head_depth_m, watch.bottom_now_m))
        told.append(
            f"The head read {head}: the hole was recorded {_depth_then(watch, units)} when it was watched, "
            f"and is {now} deep now."
        )
    return " ".join(told)


def _depth_then(watch: WatchInput, units: str) -> str:
    then_m = watch.hole_bottom_m
    return "without a depth" if then_m is None else f"{format_length(then_m, units)} deep"


def shallower_key(watch: WatchInput) -> str:
    """The key of a stop that the hole's depth set off as it is recorded now."""
    return f"shallower {watch.watch_id} {watch.bottom_now_m}"


def bottom_is_unknown(watch: WatchInput) -> bool:
    """Whether a depth was read that could be held against no bottom of the hole."""
    return watch.head_depth_m is not None and watch.hole_bottom_m is None


def bottom_fault(watch: WatchInput, units: str, time_zone: str) -> Fault:
    """A depth that was held against no bottom, as a variance for its pass is bound to it.

    Parameters
    ----------
    watch : WatchInput
        Of which `bottom_is_unknown` holds.
    units : {"feet", "metric"}
    time_zone : str
        IANA name.
    """
    when = format_moment(watch.watched_at, time_zone)
    read = format_length(watch.head_depth_m, units)
    words = f"Watched {when} by {watch.watched_by}: head read {read} deep, hole of unknown depth."
    return Fault(bottom_fault_key(watch), words)


def bottom_fault_key(watch: WatchInput) -> str:
    """The key of `bottom_fault`."""
    return f"bottom {watch.watch_id}"
