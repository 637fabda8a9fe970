"""By when a ticket's renewal must be called."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, time, timedelta

from locates.one_call.both_ways import BothWays, HangsOnADay
from locates.one_call.calendar_terms import DoubtfulDay
from locates.one_call.clock_terms import Life, Renewal, Term
from locates.one_call.clock_words import say_day, say_skipped, say_term
from locates.one_call.counting import Walk, at_clock, calendar_doubts, count_from
from locates.one_call.milestones import Law, Milestone, doubts_of, moment_of, say_in_full, unknown
from locates.one_call.notice_period import last_call_received_on

Doubts = tuple[str | DoubtfulDay, ...]

_ONE_DAY = timedelta(days=1)
_ONE_MINUTE = timedelta(minutes=1)
_DAYS_AGREED = 7  # the law's week: before so many days on which every call is in time, every call is


def renew_by(both: BothWays, start_if_called: Callable[[datetime], Milestone]) -> Milestone:
    """The last moment at which a renewal may be called so that no gap comes between the two tickets.

    Parameters
    ----------
    both : BothWays
        With "call" and "expiry". The soonest expiry counts; a doubtful day before it is left out, so that a
        lead is called sooner and a renewal starts later than either may be.
    start_if_called : callable
        Latest legal start of a renewal called at a moment, in the law's zone.

    Returns
    -------
    Milestone
        The sooner of the lead that the law asks for and the last call whose own legal start is not after the
        expiry, brought back to a working day; every earlier call is in time as well.
    """
    law = both.late
    renewal, expiry, called = law.clock.renewal, both.soonest["expiry"], moment_of(both.latest["call"])
    if renewal is None:
        return unknown("the rule as read here does not say how a ticket is renewed")
    if expiry.at is None:
        return unknown("the ticket's expiry is not known")
    found = Milestone(expiry.at, (f"the ticket ends {say_in_full(expiry.at)}",), expiry.doubts)
    if renewal.lead is not None:
        found = _with_lead(law, found, renewal.lead)
    if not renewal.runs_on:
        found = _without_gap(law, found, expiry.at, called, start_if_called)
    if found.at is None:
        return found
    if found.at < called:
        return unknown("no call made after this one could renew the ticket in time")
    found = _on_a_working_day(law, found, called)
    if not renewal.runs_on:
        found = found.doubted(start_if_called(moment_of(found)).doubts)
    return _in_window(both, renewal, found).doubted(doubts_of(renewal.grounds))


def _with_lead(law: Law, expiry: Milestone, lead: Term) -> Milestone:
    ends, walk = moment_of(expiry), Walk(law.clock.working_days)
    if lead.unit == "calendar days":
        day = ends.date() - lead.count * _ONE_DAY
    else:
        day = walk.back(ends.date(), lead.count)
    last = last_call_received_on(law, day)
    while last is None:
        day -= _ONE_DAY
        last = last_call_received_on(law, day)
    at = min(last, at_clock(day, ends.time(), law.zone, later=False))
    words = f"a renewal is called at least {say_term(lead)} before that, not counting the day of the call"
    words += say_skipped(walk.passed())
    doubts: Doubts = () if lead.unit == "calendar days" else (*walk.doubts, *calendar_doubts(walk))
    return Milestone(at, (*expiry.clauses, words), expiry.doubts).doubted(doubts)


def _without_gap(
    law: Law,
    found: Milestone,
    expiry: datetime,
    called: datetime,
    start_if_called: Callable[[datetime], Milestone],
) -> Milestone:
    """The same, or the last call before it that could start by the expiry."""
    latest = moment_of(found)
    best, days_agreed, day = None, 0, latest.date()
    while day >= called.date() and days_agreed < _DAYS_AGREED:
        first = max(at_clock(day, time(0), law.zone, later=False), called)
        last = min(at_clock(day, time(23, 59), law.zone, later=False), latest)
        in_time = _last_in_time(first, last, expiry, start_if_called)
        if in_time != last:
            best, days_agreed = in_time, 0
        else:
            best, days_agreed = best or last, days_agreed + 1
        day -= _ONE_DAY
    if best is None:
        start = start_if_called(called)
        if start.at is None:
            return unknown("the notice period of a renewal is not known")
        return unknown("no call made after this one could renew the ticket without a gap").doubted(
            start.doubts
        )
    start = start_if_called(best)
    if best < latest:
        starts = say_in_full(moment_of(start))
        found = found.ending(f"one called any later could not start by then, this one may start {starts}")
    return replace(found, at=best).doubted(start.doubts)


def _last_in_time(
    first: datetime, last: datetime, expiry: datetime, start_if_called: Callable[[datetime], Milestone]
) -> datetime | None:
    """The last minute of a day's calls that starts by the expiry; a later call of a day starts no sooner."""

    def is_in_time(at: datetime) -> bool:
        start = start_if_called(at)
        is_sure = not any(isinstance(doubt, HangsOnADay) for doubt in start.doubts)
        return is_sure and start.at is not None and start.at <= expiry

    if last < first or not is_in_time(first):
        return None
    if is_in_time(last):
        return last
    good, bad = 0, (last - first) // _ONE_MINUTE + 1
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if is_in_time(first + middle * _ONE_MINUTE) else (good, middle)
    return first + good * _ONE_MINUTE


def _on_a_working_day(law: Law, found: Milestone, called: datetime) -> Milestone:
    """The same, or the last working day before it: not every centre takes calls on other days."""
    at, walk = moment_of(found), Walk(law.clock.working_days)
    day = at.date()
    while not walk.is_working(day):
        day -= _ONE_DAY
    if day == at.date():
        return found
    last = last_call_received_on(law, day)
    if last is None or last < called:
        return found
    return (
        replace(found, at=last)
        .ending(
            f"{say_day(day)} is the last working day before {say_day(at.date())}{say_skipped(walk.passed())}"
        )
        .doubted(walk.doubts)
    )


def _in_window(both: BothWays, renewal: Renewal, found: Milestone) -> Milestone:
    """The same with the latest day from which a renewal is accepted; nothing where that is too late."""
    opens = _opens(both, renewal)
    if opens is None:
        return found
    day, doubts = opens
    if day > moment_of(found).date():
        words = f"a renewal is accepted only from {say_day(day)}, and one called then would leave a gap"
        return unknown(words).doubted(doubts)
    return found.ending(f"a renewal is accepted from {say_day(day)}").doubted(doubts)


def _opens(both: BothWays, renewal: Renewal) -> tuple[date, Doubts] | None:
    last = moment_of(both.latest["expiry"]).date()
    walk = Walk(both.soon.clock.working_days)
    if renewal.not_before is not None:
        longest = renewal.not_before
        if longest.unit == "calendar days":
            return last - longest.count * _ONE_DAY, ()
        day = walk.back(last, longest.count + 1) + _ONE_DAY
        return day, (*walk.doubts, *calendar_doubts(walk))
    life = both.late.clock.life
    if renewal.from_day is None or life is None or life.term is None:
        return None
    return _day_of_life(both, life, life.term, renewal.from_day)


def _day_of_life(both: BothWays, life: Life, term: Term, number: int) -> tuple[date, Doubts]:
    base, law = moment_of(both.latest[life.counted_from]), both.late
    count = count_from(base, replace(term, count=number), law.clock.working_days, law.zone, later=False)
    return count.last, count.doubts
