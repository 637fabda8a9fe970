"""The dates of a ticket, from a jurisdiction's clock and the call."""

from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

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
    moment_of,
    say,
    say_in_full,
    unknown,
)
from locates.one_call.notice_period import beginning_of, end_of, receipt_of
from locates.one_call.renewal_call import renew_by
from locates.one_call.ticket_span import deadline_of, end_of_life, first_of


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
        An end is the last minute of its day, a start the first after the period, where no hour is named.

    Raises
    ------
    ClockError
        A kind that is none, a moment without an offset, a calendar without working days.
    """
    law = Law(clock, _zone(clock, call))
    moments = _reckoned(law, call)
    return TicketDates(
        legal_start_at=computed(moments["legal start"], "may start"),
        response_due_at=computed(moments["answers due"], "answers are due"),
        latest_start_at=computed(moments["latest start"], "must start by"),
        renew_by=computed(moments["renew by"], "call the renewal by"),
        expires_at=computed(moments["expiry"], "good until"),
        silence=silence_of(clock.silence),
    )


def no_dates(reason: str) -> TicketDates:
    """The dates of a ticket whose jurisdiction has no clock here: none, each with the reason."""
    none = computed(unknown(reason), "")
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
    """Every milestone of a ticket, in the order in which one rests on another."""
    called = _called(law, call)
    moments = {"call": called}
    rule = dict(law.clock.kinds).get(call.kind)
    if rule is None and call.kind not in KINDS_OF_NOTICE:
        return moments | _nothing(
            f"the rule as read here says nothing on a ticket of the kind {KIND_WORDS[call.kind]}"
        )
    if rule is not None and rule.starts_at_once:
        reason = f"the rule as read here says it of a routine notice, not of the kind {KIND_WORDS[call.kind]}"
        return moments | _nothing(reason) | {"legal start": _at_once(called, rule, call)}
    moments |= _notice_period(law, call, rule)
    moments["legal start"] = _legal_start(law, call, moments)
    moments["stated start"] = _stated_start(law, call, moments["legal start"])
    moments["answers due"] = _response(law, moments)
    moments["expiry"] = end_of_life(law, law.clock.life, moments)
    moments["latest start"] = _latest_start(law, moments)
    moments["legal start"] = _before_the_end(law, moments)
    moments["renew by"] = renew_by(law, moments, lambda at: _start_if_called(law, at))
    return moments


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


def _notice_period(law: Law, call: Call, rule: KindRule | None) -> dict[str, Milestone]:
    """Receipt of the call, beginning and end of its notice period."""
    called = _called(law, call)
    received = receipt_of(law, called)
    notice = _notice(law, rule)
    if notice is None:
        reason = unknown("the rule as read here does not say how long before the work the notice is given")
        return {"receipt": received, "notice begins": reason, "notice ends": reason}
    begins = beginning_of(law, notice, received)
    ends = end_of(law, notice, called, received, begins)
    if rule is not None:
        ends = ends.ending(rule.conditions).doubted(doubts_of(rule.grounds))
    return {"receipt": received, "notice begins": begins, "notice ends": ends}


def _notice(law: Law, rule: KindRule | None) -> Notice | None:
    return rule.notice if rule is not None else law.clock.notice


def _start_if_called(law: Law, at: datetime) -> Milestone:
    """End of the notice period of a renewal that is called at a moment."""
    call = Call(kind="renewal", called_at=at, time_zone=str(law.zone))
    rule = dict(law.clock.kinds).get("renewal")
    if rule is not None and rule.starts_at_once:
        return _at_once(_called(law, call), rule, call)
    return _notice_period(law, call, rule)["notice ends"]


def _legal_start(law: Law, call: Call, moments: dict[str, Milestone]) -> Milestone:
    """End of the notice period or the start that the notice states, and within what the notice may state."""
    found = moments["notice ends"]
    if found.at is None:
        return found
    rule = dict(law.clock.kinds).get(call.kind)
    notice = _notice(law, rule)
    if call.start_at is not None and notice is not None:
        stated = call.start_at.astimezone(law.zone)
        if stated < found.at:
            found = found.ending(f"the start stated, {say(stated)}, is sooner than that")
        elif notice.stated_start_binds:
            words = f"the notice period ends {say(moment_of(found))}; the notice states a later start"
            found = Milestone(stated, (*found.clauses, words), found.doubts)
    ahead = _limits(law.clock, before_start=True)
    if ahead:
        last = first_of(law, ahead, moments)
        if last.at is not None and moment_of(found) > last.at:
            start = say_in_full(moment_of(found))
            return unknown(f"the law wants the start by {say_in_full(last.at)}, and this one is {start}")
    return found


def _limits(clock: Clock, *, before_start: bool) -> tuple[Deadline, ...]:
    return tuple(one for one in clock.latest_start if (one.counted_from in MOMENTS_BEFORE) == before_start)


def _stated_start(law: Law, call: Call, legal_start: Milestone) -> Milestone:
    if legal_start.at is None:
        return legal_start
    if call.start_at is None:
        return replace(legal_start, known_as="the legal start (the notice states no start)")
    stated = max(call.start_at.astimezone(law.zone), legal_start.at)
    return Milestone(stated, legal_start.clauses, legal_start.doubts)


def _response(law: Law, moments: dict[str, Milestone]) -> Milestone:
    if law.clock.response is None:
        return unknown("the rule as read here does not say by when operators answer")
    return deadline_of(law, law.clock.response, moments)


def _latest_start(law: Law, moments: dict[str, Milestone]) -> Milestone:
    if not law.clock.latest_start:
        return unknown("the rule as read here sets no latest start")
    found, expiry = first_of(law, law.clock.latest_start, moments), moments["expiry"]
    if found.at is None or expiry.at is None or found.at <= expiry.at:
        return found
    return expiry.ending("the ticket ends before the latest start that the law sets").doubted(found.doubts)


def _before_the_end(law: Law, moments: dict[str, Milestone]) -> Milestone:
    """The legal start, unless the ticket would be over by then; with what lets work start sooner."""
    start, expiry, early = moments["legal start"], moments["expiry"], law.clock.early_start
    if start.at is None:
        return start
    if expiry.at is None or start.at < expiry.at:
        if early is None or not early.is_allowed or not early.grounds.is_sure:
            return start
        return start.ending(f"sooner only once every operator has answered ({early.grounds.citation})")
    words = f"the ticket ends {say_in_full(expiry.at)}, before it could start {say_in_full(start.at)}"
    return unknown(words)
