"""The route in words: how ends are joined, what parts them, what is not sure."""

from collections.abc import Mapping, Sequence
from uuid import UUID

from conflicts.route.chains import Gap, Route
from conflicts.route.ends import End
from conflicts.route.footage import Footage
from conflicts.route.joints import MEET_M, How, Joint, Unjoined, Why
from locates.units import format_length

Names = Mapping[UUID, str]

STATED_HOW = {
    "pit": "one pit",
    "box": "a box",
    "trench": "an open trench",
    "bore": "end to end in the ground",
}


def end_words(end: End, names: Names) -> str:
    """An end as people call it."""
    return f"the {end.end} of {names[end.bore_id]}"


def _ends_words(ends: Sequence[End], names: Names) -> str:
    *most, last = [end_words(end, names) for end in ends]
    return f"{', '.join(most)} and {last}"


def joint_words(joint: Joint, names: Names, units: str) -> str:
    """How two ends come to be joined, and how far they lie from each other.

    Parameters
    ----------
    joint : Joint
    names : mapping of UUID to str
        Of the bores.
    units : {"feet", "metric"}

    Returns
    -------
    str
        A sentence or two.
    """
    ends, apart = _ends_words(joint.ends, names), format_length(joint.apart_m, units)
    if joint.how is How.PIT:
        return f"One pit serves both: {ends} lie {apart} apart in it."
    if joint.how is How.MEET:
        depth = format_length(joint.depth_apart_m, units)
        return f"They meet: {ends} lie {apart} apart in plan and {depth} in depth."
    if joint.how is How.UNSURE:
        return (
            f"Not sure to meet: {ends} lie {apart} apart in plan, but how deep they are is not known of both."
        )
    how = STATED_HOW[joint.stated.how] if joint.stated is not None else ""
    note = f" {joint.stated.note}" if joint.stated is not None and joint.stated.note else ""
    return f"Joined through {how}, as somebody stated: {ends} lie {apart} apart.{note}"


def gap_words(gap: Gap, names: Names, units: str) -> str:
    """What parts two chains.

    Parameters
    ----------
    gap : Gap
    names : mapping of UUID to str
    units : {"feet", "metric"}

    Returns
    -------
    str
    """
    apart = format_length(gap.apart_m, units)
    return f"A gap of {apart} between {_ends_words(gap.ends, names)}. Nothing joins them."


def unjoined_words(one: Unjoined, names: Names, units: str) -> str:
    """Why ends at one place are not joined.

    Parameters
    ----------
    one : Unjoined
    names : mapping of UUID to str
    units : {"feet", "metric"}

    Returns
    -------
    str
    """
    ends, apart = _ends_words(one.ends, names), format_length(one.apart_m, units)
    if one.why is Why.DEPTH:
        depth = format_length(one.depth_apart_m, units)
        return f"Not joined: {ends} lie {apart} apart in plan, but {depth} in depth."
    if one.why is Why.SEVERAL:
        return f"Not joined, for it is not known which goes with which: {ends} lie at one place."
    if one.why is Why.BESIDE:
        return (
            f"Not joined: {ends} lie together, and so do the other ends. The two bores run beside each other."
        )
    if one.why is Why.STATED_APART:
        return f"Not joined, as somebody stated: {ends} lie {apart} apart."
    return f"Not joined, for it was stated of the first more than once with which it goes: {ends}."


def meeting_rule_words(units: str) -> str:
    """When ends are taken to meet.

    Parameters
    ----------
    units : {"feet", "metric"}

    Returns
    -------
    str
    """
    reach = format_length(MEET_M, units)
    return (
        f"Two ends are joined where one pit serves both, or where they lie within {reach} of each other "
        "in plan and in depth (common practice, no source). Whatever else joins or parts them, somebody "
        "has to state."
    )


def route_words(route: Route, units: str) -> str:
    """Whether the conduit is one line from end to end.

    Parameters
    ----------
    route : Route
    units : {"feet", "metric"}

    Returns
    -------
    str
    """
    if not route.chains:
        return "No bore, no route."
    count, unsure = len(route.chains), sum(not joint.is_sure for joint in route.joints)
    if count > 1:
        return f"Not one line: {count} pieces that nothing joins."
    length = format_length(route.chains[0].length_m, units)
    what = "A ring" if route.chains[0].is_ring else "One line from end to end"
    if unsure:
        return f"{what} of {length}, if what is not sure holds: {_number(unsure, 'joint')}."
    return f"{what}: {length}."


def drilled_words(footage: Footage, units: str) -> str:
    """What the drilled length of a job rests on.

    Parameters
    ----------
    footage : Footage
    units : {"feet", "metric"}

    Returns
    -------
    str
    """
    words = []
    if footage.by_close_out_m > 0.0:
        length = format_length(footage.by_close_out_m, units)
        words.append(f"{length} of it by close-out alone: planned length, no rod is logged.")
    if footage.unlogged:
        words.append(f"No rod is logged of {_number(footage.unlogged, 'bore')}: nothing of it counts.")
    return " ".join(words)


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"
