"""From the call to the end of the notice period."""

from datetime import date, datetime, time, timedelta

from locates.one_call.calendar import day_of
from locates.one_call.calendar_terms import WEEKDAYS, DoubtfulDay
from locates.one_call.clock_terms import HOUR_UNITS, CalledOn, Notice
from locates.one_call.clock_words import say_clock, say_day, say_skipped, say_span
from locates.one_call.counting import Walk, at_clock, calendar_doubts, count_from
from locates.one_call.milestones import Law, Milestone, doubts_of, moment_of, say


def receipt_of(law: Law, called: Milestone) -> Milestone:
    """When a call counts as received.

    Parameters
    ----------
    law : Law
        The jurisdiction's.
    called : Milestone
        The call, with its moment.

    Returns
    -------
    Milestone
        The call itself where the law moves nothing.
    """
    receipt, at = law.clock.receipt, moment_of(called)
    if receipt is None:
        return called
    walk = Walk(law.clock.working_days)
    day, clock = at.date(), receipt.counts_at
    if receipt.moves_off_days and not walk.is_working(day):
        why, day = "a call on a day that does not count", walk.next_working(day)
    elif receipt.cut_off is not None and at.time() > receipt.cut_off:
        why, day = f"a call after {say_clock(receipt.cut_off)}", walk.next_working(day)
    elif at.time() < receipt.earliest:
        why, clock = f"a call before {say_clock(receipt.earliest)}", receipt.earliest
    else:
        return called.doubted(walk.doubts)
    moved = at_clock(day, clock, law.zone, later=True)
    words = f"{why} counts as received {say(moved)}{say_skipped(walk.passed())}"
    doubts = (*walk.doubts, *calendar_doubts(walk), *doubts_of(receipt.grounds))
    return Milestone(moved, (*called.clauses, words), called.doubts).doubted(doubts)


def last_call_received_on(law: Law, day: date) -> datetime | None:
    """The last minute of a day at which a call counts as received on it; None where none does."""
    receipt = law.clock.receipt
    for clock in (time(23, 59), receipt.cut_off if receipt else None):
        if clock is not None:
            at = at_clock(day, clock, law.zone, later=False)
            if moment_of(receipt_of(law, Milestone(at))).date() == day:
                return at
    return None


def beginning_of(law: Law, notice: Notice, received: Milestone) -> Milestone:
    """When the notice period begins.

    Parameters
    ----------
    law : Law
        The jurisdiction's.
    notice : Notice
        What it asks for.
    received : Milestone
        The call as received.

    Returns
    -------
    Milestone
        With the doubts of the calendar, where it was asked; any holidays passed over are told.
    """
    at = moment_of(received)
    if notice.begins_at is None:
        return received
    if notice.begins == "next_day":
        begins = at_clock(at.date() + timedelta(days=1), notice.begins_at, law.zone, later=True)
        return Milestone(begins, received.clauses, received.doubts)
    walk = Walk(law.clock.working_days)
    day = walk.next_working(at.date())
    begins = at_clock(day, notice.begins_at, law.zone, later=True)
    skipped = say_skipped(walk.passed())
    clauses = (f"the next working day is {say_day(day)}{skipped}",) if skipped else ()
    return Milestone(begins, (*received.clauses, *clauses), received.doubts).doubted(
        (*walk.doubts, *calendar_doubts(walk))
    )


def end_of(law: Law, notice: Notice, called: Milestone, received: Milestone, begins: Milestone) -> Milestone:
    """When the notice period ends.

    Parameters
    ----------
    law : Law
        The jurisdiction's.
    notice : Notice
        What it asks for.
    called, received, begins : Milestone
        The call, its receipt and the beginning of the period.

    Returns
    -------
    Milestone
        With all that was doubtful on the way.
    """
    for rule in notice.called_on:
        if moment_of(called).weekday() == rule.called_on:
            return _fixed_start(law, rule, called).doubted(doubts_of(notice.grounds))
    in_hours = notice.term.unit in HOUR_UNITS
    base = begins if in_hours else received
    start = moment_of(base)
    count = count_from(start, notice.term, law.clock.working_days, law.zone, later=True)
    if in_hours:
        start_words = "then" if base.at == called.at else say(start)
    else:
        start_words = "the day of the call" if received.at == called.at else say_day(start.date())
    ends = Milestone(count.at, (*base.clauses, say_span(notice.term, count, start_words)), base.doubts)
    return ends.doubted((*count.doubts, *doubts_of(notice.grounds)))


def _fixed_start(law: Law, rule: CalledOn, called: Milestone) -> Milestone:
    """The start that the law fixes for a call on that weekday."""
    day, walk = moment_of(called).date(), Walk(law.clock.working_days)
    starts_on = _next(day, rule.starts_on)
    clauses = [
        f"for a call on a {WEEKDAYS[rule.called_on].title()} the law names {WEEKDAYS[rule.starts_on].title()}"
    ]
    if rule.holiday is not None and rule.starts_on_then is not None:
        off = _next(day, rule.holiday)
        if not walk.is_working(off):
            starts_on = _next(day, rule.starts_on_then)
            why = day_of(law.clock.working_days, off).holiday or "no working day"
            clauses.append(f"{say_day(off)} is {why}, so {WEEKDAYS[rule.starts_on_then].title()}")
    doubts: list[str | DoubtfulDay] = [*walk.doubts]
    own_day = day_of(law.clock.working_days, starts_on)
    if isinstance(own_day.doubt, DoubtfulDay) or not own_day.is_working:
        may_be = own_day.doubt.name if isinstance(own_day.doubt, DoubtfulDay) else own_day.holiday
        off_for = may_be or "no working day"
        doubts.append(f"what follows where {say_day(starts_on)} is {off_for}, of which the rule says nothing")
    at = at_clock(starts_on, rule.at, law.zone, later=True)
    return Milestone(at, (*called.clauses, *clauses), called.doubts).doubted(
        (*doubts, *calendar_doubts(walk))
    )


def _next(day: date, weekday: int) -> date:
    """The first such weekday after a day."""
    return day + timedelta(days=(weekday - day.weekday() - 1) % 7 + 1)
