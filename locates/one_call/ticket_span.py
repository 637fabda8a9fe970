"""What follows from a ticket's start: by when it must be started, and how long it is good."""

from collections.abc import Mapping

from locates.one_call.clock_terms import Deadline, Life, Term
from locates.one_call.clock_words import FROM, say_day, say_skipped, say_span
from locates.one_call.counting import Count, Walk, at_clock, calendar_doubts, count_from
from locates.one_call.milestones import (
    Law,
    Milestone,
    doubts_of,
    moment_of,
    say,
    unknown,
)

Moments = Mapping[str, Milestone]


def deadline_of(law: Law, deadline: Deadline, moments: Moments) -> Milestone:
    """A moment reckoned from another one.

    Parameters
    ----------
    law : Law
        The jurisdiction's.
    deadline : Deadline
        What to reckon.
    moments : mapping of str to Milestone
        Those known so far.

    Returns
    -------
    Milestone
        Without a moment where the one counted from has none.
    """
    base = moments[deadline.counted_from]
    if base.at is None:
        return unknown(f"it is counted from {FROM[deadline.counted_from]}, which is not known")
    term = deadline.term
    found = _counted(law, base, term, deadline.counted_from)[0] if term else base
    clauses = (deadline.what,) if deadline.what else ()
    return found.ending(*clauses).doubted(doubts_of(deadline.grounds))


def first_of(law: Law, deadlines: tuple[Deadline, ...], moments: Moments) -> Milestone:
    """The first of several deadlines; with every doubt about any of them."""
    found = [deadline_of(law, deadline, moments) for deadline in deadlines]
    for one in found:
        if one.at is None:
            return one
    first = min(found, key=moment_of)
    return first.doubted(doubt for one in found for doubt in one.doubts)


def end_of_life(law: Law, life: Life | None, moments: Moments) -> Milestone:
    """When a ticket ends.

    Parameters
    ----------
    law : Law
        The jurisdiction's.
    life : Life or None
        What it says.
    moments : mapping of str to Milestone
        Those known so far.

    Returns
    -------
    Milestone
        Without a moment where the law gives no fixed term, or the one counted from has none.
    """
    if life is None:
        return unknown("the rule as read here does not say how long a ticket is good")
    if life.term is None:
        return unknown(
            f"the law gives no fixed term: a ticket is good {life.no_fixed_term} ({life.grounds.citation})"
        )
    base = moments[life.counted_from]
    if base.at is None:
        return unknown(f"it is counted from {FROM[life.counted_from]}, which is not known")
    found, count = _counted(law, base, life.term, life.counted_from)
    if life.rolls_on:
        found = _rolled_on(law, found, count)
    sooner = (f"it ends sooner when {' or '.join(life.ends_early)}",) if life.ends_early else ()
    return found.ending(*sooner).doubted(doubts_of(life.grounds))


def _counted(law: Law, base: Milestone, term: Term, name: str) -> tuple[Milestone, Count]:
    start = moment_of(base)
    count = count_from(start, term, law.clock.working_days, law.zone, later=False)
    words = say_span(term, count, f"{base.known_as or FROM[name]}, {say(start)}")
    return Milestone(count.at, (words,), base.doubts).doubted(count.doubts), count


def _rolled_on(law: Law, found: Milestone, count: Count) -> Milestone:
    """The end on the next working day, where the last day is none."""
    walk = Walk(law.clock.working_days)
    at = moment_of(found)
    if walk.is_working(at.date()):
        return found
    day = walk.next_working(at.date())
    moved = at_clock(day, at.time(), law.zone, later=False)
    words = f"that day does not count, so it moves on to {say_day(day)}{say_skipped(walk.passed())}"
    return Milestone(moved, (*found.clauses, words), found.doubts).doubted(
        (*walk.doubts, *calendar_doubts(walk))
    )
