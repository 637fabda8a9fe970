"""The dates of a ticket, from a jurisdiction's clock and the call."""

from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from locates.one_call.both_ways import BothWays
from locates.one_call.calendar_terms import DoubtfulDay
from locates.one_call.clock_members import ClockError
from locates.one_call.clock_terms import (
    KINDS,
    KINDS_OF_NOTICE,
    MOMENTS_BEFORE,
    Clock,
    Deadline,
    KindRule,
    Notice,
    Silence,
)
from locates.one_call.clock_words import KIND_WORDS
from locates.one_call.milestones import (
    ComputedDate,
    Law,
    Milestone,
    computed,
    doubts_of,
    say,
    say_in_full,
    unknown,
)
from locates.one_call.notice_period import beginning_of, end_of, receipt_of
from locates.one_call.renewal_call import renew_by
from locates.one_call.ticket_span import Moments, deadline_of, end_of_life, first_of


@dataclass(frozen=True, kw_only=True, slots=True)
class Call:
    """One notice to the one-call centre.

    Parameters
    ----------
    kind : str
        Of `KINDS`.
    called_at : datetime
        Aware.
    time_zone : str
        IANA name of the job's zone; the law's own, where it names one, goes before it.
    start_at : datetime or None
        Start that the notice asks for, aware; None where it names none.
    """

    kind: str
    called_at: datetime
    time_zone: str
    start_at: datetime | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class ComputedSilence:
    """What an operator's silence means.

    Parameters
    ----------
    policy : str
        "wait", "call_again" or "go_on_with_care"; "wait" unless the rule surely says otherwise.
    words : str
        What was read, with its citation.
    """

    policy: str
    words: str


@dataclass(frozen=True, kw_only=True, slots=True)
class TicketDates:
    """The dates of a ticket, each with its working, and what silence means."""

    legal_start_at: ComputedDate
    response_due_at: ComputedDate
    latest_start_at: ComputedDate
    renew_by: ComputedDate
    expires_at: ComputedDate
    silence: ComputedSilence


def ticket_dates(clock: Clock, call: Call) -> TicketDates:
    """Dates that a jurisdiction's law gives a ticket.

    Parameters
    ----------
    clock : Clock
        The jurisdiction's.
    call : Call
        The notice.

    Returns
    -------
    TicketDates
        Every date in UTC, with one sentence of working; None wherever the rule does not say or is not sure.
        A day that may be a holiday is taken for one in a start and in answers due, for none in an end:
        whatever it is, the true start is not later, the true end not sooner, a renewal called in time.
        An end is the last minute of its day, a start the first after the period, where no hour is named.

    Raises
    ------
    ClockError
        A kind that is none, a moment without an offset, a calendar without working days.
    """
    law = Law(clock, _zone(clock, call))
    moments = _reckoned(law, call)
    return TicketDates(
        legal_start_at=computed(moments["legal start"], "may start", "the later start"),
        response_due_at=computed(moments["answers due"], "answers are due", "the later day"),
        latest_start_at=computed(moments["latest start"], "must start by", "the sooner end"),
        renew_by=computed(moments["renew by"], "call the renewal by", "the sooner call"),
        expires_at=computed(moments["expiry"], "good until", "the sooner end"),
        silence=silence_of(clock.silence),
    )


def no_dates(reason: str) -> TicketDates:
    """The dates of a ticket whose jurisdiction has no clock here: none, each with the reason."""
    none = computed(unknown(reason), "", "")
    return TicketDates(
        legal_start_at=none,
        response_due_at=none,
        latest_start_at=none,
        renew_by=none,
        expires_at=none,
        silence=silence_of(None),
    )


def silence_of(silence: Silence | None) -> ComputedSilence:
    """What silence means: to wait, unless the rule surely says otherwise."""
    if silence is None:
        words = "The rule as read here does not say what silence means: wait for every answer."
        return ComputedSilence(policy="wait", words=words)
    words = f"{silence.words.rstrip('.')} ({silence.grounds.citation})."
    if silence.grounds.is_sure:
        return ComputedSilence(policy=silence.policy, words=words)
    return ComputedSilence(
        policy="wait", words=f"Wait for every answer. Not certain, {silence.grounds.doubt}: {words}"
    )


def _zone(clock: Clock, call: Call) -> ZoneInfo:
    if call.kind not in KINDS:
        raise ClockError("kind", repr(call.kind), ", ".join(KINDS))
    for name, moment in (("called_at", call.called_at), ("start_at", call.start_at)):
        if moment is not None and moment.tzinfo is None:
            raise ClockError(name, str(moment), "a moment with an offset")
    return ZoneInfo(clock.zone.name if clock.zone else call.time_zone)


def _reckoned(law: Law, call: Call) -> dict[str, Milestone]:
    """The dates of a ticket, each from the reckoning that is safe for it."""
    both = BothWays(law)
    rule = dict(law.clock.kinds).get(call.kind)
    if rule is None and call.kind not in KINDS_OF_NOTICE:
        return _nothing(f"the rule as read here says nothing on a ticket of the kind {KIND_WORDS[call.kind]}")
    if rule is not None and rule.starts_at_once:
        reason = f"the rule as read here says it of a routine notice, not of the kind {KIND_WORDS[call.kind]}"
        return _nothing(reason) | {"legal start": _at_once(_called(law, call), rule, call)}
    _reckon_start(both, call, rule)
    _reckon_span(both, law.clock)
    expiry = both.soonest["expiry"]
    legal_start = _before_the_end(law, both.latest["legal start"], expiry)
    found = {
        "legal start": legal_start,
        "answers due": both.latest["answers due"],
        "expiry": expiry,
        "latest start": _not_before(both.soonest["latest start"], legal_start),
    }
    renewed = renew_by(both, lambda at: _start_if_called(law, at))
    return {name: _not_before_the_call(one, call) for name, one in found.items()} | {"renew by": renewed}


def _reckon_notice(both: BothWays, call: Call, rule: KindRule | None) -> None:
    """The call, its receipt, and beginning and end of its notice period."""
    both.reckon("call", lambda law, _: _called(law, call))
    both.reckon("receipt", lambda law, moments: receipt_of(law, moments["call"]))
    notice = rule.notice if rule is not None else both.late.clock.notice
    if notice is None:
        reason = unknown("the rule as read here does not say how long before the work the notice is given")
        both.put("notice begins", reason, reason)
        both.put("notice ends", reason, reason)
        return
    both.reckon("notice begins", lambda law, moments: beginning_of(law, notice, moments["receipt"]))
    both.reckon(
        "notice ends", lambda law, moments: _end_of_notice(law, notice, rule, moments), notice.term, "receipt"
    )


def _end_of_notice(law: Law, notice: Notice, rule: KindRule | None, moments: Moments) -> Milestone:
    ends = end_of(law, notice, moments["call"], moments["receipt"], moments["notice begins"])
    if rule is None:
        return ends
    return ends.ending(rule.conditions).doubted(doubts_of(rule.grounds))


def _reckon_start(both: BothWays, call: Call, rule: KindRule | None) -> None:
    """The notice period and the legal start."""
    _reckon_notice(both, call, rule)
    notice = rule.notice if rule is not None else both.late.clock.notice
    both.reckon("legal start", lambda _, moments: _legal_start(moments["notice ends"], notice, call))
    ahead = _limits(both.late.clock, before_start=True)
    if ahead:
        both.reckon("last start allowed", lambda law, moments: first_of(law, ahead, moments))
        _hold_to_the_limit(both)
    both.reckon("stated start", lambda _, moments: _stated_start(call, moments["legal start"]))


def _reckon_span(both: BothWays, clock: Clock) -> None:
    """What is counted from the start or from what comes before it."""
    response, life = clock.response, clock.life
    counted_from = response.counted_from if response else ""
    both.reckon("answers due", _response, response.term if response else None, counted_from)
    counted_from = life.counted_from if life else ""
    both.reckon(
        "expiry",
        lambda law, moments: end_of_life(law, life, moments),
        life.term if life else None,
        counted_from,
    )
    both.reckon("latest start", _latest_start)


def _called(law: Law, call: Call) -> Milestone:
    at = call.called_at.astimezone(law.zone)
    clauses = [f"called {say_in_full(at)}"]
    named = law.clock.zone
    if named is None:
        return Milestone(at, tuple(clauses))
    if named.name != call.time_zone:
        clauses.append(f"the law counts in {named.name} time")
    return Milestone(at, tuple(clauses), doubts_of(named.grounds))


def _nothing(reason: str) -> dict[str, Milestone]:
    names = ("legal start", "answers due", "expiry", "latest start", "renew by")
    return dict.fromkeys(names, unknown(reason))


def _at_once(called: Milestone, rule: KindRule, call: Call) -> Milestone:
    words = f"a ticket of the kind {KIND_WORDS[call.kind]} has no notice period: {rule.conditions}"
    return called.ending(f"{words} ({rule.grounds.citation})").doubted(doubts_of(rule.grounds))


def _start_if_called(law: Law, at: datetime) -> Milestone:
    """Latest end of the notice period of a renewal that is called at a moment."""
    call = Call(kind="renewal", called_at=at, time_zone=str(law.zone))
    rule = dict(law.clock.kinds).get("renewal")
    if rule is not None and rule.starts_at_once:
        return _at_once(_called(law, call), rule, call)
    both = BothWays(law)
    _reckon_notice(both, call, rule)
    return both.latest["notice ends"]


def _legal_start(ends: Milestone, notice: Notice | None, call: Call) -> Milestone:
    """End of the notice period, or the later start that the notice states."""
    if ends.at is None or call.start_at is None or notice is None:
        return ends
    stated = call.start_at.astimezone(ends.at.tzinfo)
    if stated < ends.at:
        return ends.ending(f"the start stated, {say(stated)}, is sooner than that")
    if not notice.stated_start_binds:
        return ends
    words = f"the notice period ends {say(ends.at)}; the notice states a later start"
    return Milestone(stated, (*ends.clauses, words), ends.doubts)


def _hold_to_the_limit(both: BothWays) -> None:
    """Leave the legal start unknown where it may be later than the law wants it."""
    start, last = both.latest["legal start"], both.soonest["last start allowed"]
    if start.at is None or last.at is None or start.at <= last.at:
        return
    late = unknown(
        f"the law wants the start by {say_in_full(last.at)}, and this one is {say_in_full(start.at)}"
    ).doubted(doubt for doubt in (*start.doubts, *last.doubts) if isinstance(doubt, DoubtfulDay))
    both.put("legal start", late, late)


def _limits(clock: Clock, *, before_start: bool) -> tuple[Deadline, ...]:
    return tuple(one for one in clock.latest_start if (one.counted_from in MOMENTS_BEFORE) == before_start)


def _stated_start(call: Call, legal_start: Milestone) -> Milestone:
    if legal_start.at is None:
        return legal_start
    if call.start_at is None:
        return replace(legal_start, known_as="the legal start (the notice states no start)")
    stated = max(call.start_at.astimezone(legal_start.at.tzinfo), legal_start.at)
    return Milestone(stated, legal_start.clauses, legal_start.doubts)


def _response(law: Law, moments: Moments) -> Milestone:
    if law.clock.response is None:
        return unknown("the rule as read here does not say by when operators answer")
    return deadline_of(law, law.clock.response, moments)


def _latest_start(law: Law, moments: Moments) -> Milestone:
    if not law.clock.latest_start:
        return unknown("the rule as read here sets no latest start")
    found, expiry = first_of(law, law.clock.latest_start, moments), moments["expiry"]
    if found.at is None or expiry.at is None or found.at <= expiry.at:
        return found
    return expiry.ending("the ticket ends before the latest start that the law sets").doubted(found.doubts)


def _not_before(latest_start: Milestone, legal_start: Milestone) -> Milestone:
    """The latest start, unless the doubtful days leave it before the legal start."""
    if latest_start.at is None or legal_start.at is None or legal_start.at <= latest_start.at:
        return latest_start
    words = f"it may be as soon as {say_in_full(latest_start.at)}, and the start as late as"
    return unknown(f"{words} {say_in_full(legal_start.at)}").doubted(
        (*latest_start.doubts, *legal_start.doubts)
    )


def _not_before_the_call(found: Milestone, call: Call) -> Milestone:
    """The same; nothing where the clock counts so little that it is not after the call."""
    if found.at is None or found.at > call.called_at:
        return found
    words = f"as it was read, it would be {say_in_full(found.at)}, which is not after the call"
    return unknown(words).doubted(found.doubts)


def _before_the_end(law: Law, start: Milestone, expiry: Milestone) -> Milestone:
    """The legal start, unless the ticket may be over by then; with what lets work start sooner."""
    early = law.clock.early_start
    if start.at is None:
        return start
    if expiry.at is None or start.at < expiry.at:
        if early is None or not early.is_allowed or not early.grounds.is_sure:
            return start
        return start.ending(f"sooner only once every operator has answered ({early.grounds.citation})")
    words = f"the ticket ends {say_in_full(expiry.at)}, before it could start {say_in_full(start.at)}"
    return unknown(words).doubted((*start.doubts, *expiry.doubts))
