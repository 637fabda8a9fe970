"""A clock in plain words, part by part, each with its citation and how sure it is."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import time

from locates.one_call.calendar_terms import WEEKDAYS, Grounds, Holidays, WorkingDays
from locates.one_call.clock_terms import (
    HOUR_UNITS,
    CalledOn,
    Clock,
    Deadline,
    End,
    KindRule,
    Life,
    Notice,
    Receipt,
    Renewal,
    Term,
)
from locates.one_call.clock_words import FROM, KIND_WORDS, say_clock, say_term

NOT_READ = "Not read: the desk asks for the date."
LISTS = {
    "federal": "federal holidays",
    "state": "the state's legal holidays",
    "federal_and_state": "days that are both federal and state holidays",
}
POLICIES = {"wait": "Wait", "call_again": "Call again", "go_on_with_care": "Work may go on with care"}
ENDS = {
    "last": "of the last day",
    "next": "of the day after the last",
    "next_working": "of the next working day",
}


@dataclass(frozen=True, slots=True)
class Described:
    """One part of a clock in words.

    Parameters
    ----------
    title : str
        What it settles.
    words : str
        What was read.
    grounds : Grounds or None
        Where, and how sure; None where nothing was read.
    """

    title: str
    words: str
    grounds: Grounds | None


def described(clock: Clock) -> tuple[Described, ...]:
    """Every part of a clock in words.

    Parameters
    ----------
    clock : Clock
        The jurisdiction's.

    Returns
    -------
    tuple of Described
        In the order in which a ticket meets them; a part that was not read is named as such.
    """
    return tuple(_parts(clock))


def _parts(clock: Clock) -> Iterator[Described]:
    if clock.zone is not None:
        yield Described(
            "Time zone", f"{clock.zone.name}, wherever in the state the job lies.", clock.zone.grounds
        )
    yield Described("Working days", _working_days(clock.working_days), clock.working_days.grounds)
    holidays = clock.working_days.holidays
    yield Described("Holidays", _holidays(holidays), holidays.grounds)
    if clock.receipt is not None:
        yield Described("When a call is received", _receipt(clock.receipt), clock.receipt.grounds)
    notice, response, life = clock.notice, clock.response, clock.life
    renewal, silence, early = clock.renewal, clock.silence, clock.early_start
    yield Described(
        "Legal start", _notice(notice) if notice else NOT_READ, notice.grounds if notice else None
    )
    for kind, rule in clock.kinds:
        yield Described(f"Legal start, {KIND_WORDS[kind]}", _kind_rule(rule), rule.grounds)
    if early is not None:
        may = "Work may" if early.is_allowed else "Work may not"
        yield Described("Start before that", f"{may} start once every operator has answered.", early.grounds)
    answers = _capital(_deadline(response)) if response else NOT_READ
    yield Described("Answers due", answers, response.grounds if response else None)
    for one in clock.latest_start:
        yield Described("Latest start", _capital(_deadline(one)), one.grounds)
    if not clock.latest_start:
        yield Described("Latest start", NOT_READ, None)
    yield Described("Ticket life", _life(life) if life else NOT_READ, life.grounds if life else None)
    yield Described(
        "Renewal", _renewal(renewal) if renewal else NOT_READ, renewal.grounds if renewal else None
    )
    unsaid = "Not read: wait for every answer."
    words = f"{POLICIES[silence.policy]}: {silence.words}" if silence else unsaid
    yield Described("An operator's silence", words, silence.grounds if silence else None)


def _working_days(working_days: WorkingDays) -> str:
    days = ", ".join(WEEKDAYS[day].title() for day in working_days.weekdays)
    closes = "midnight" if working_days.closes_at is None else say_clock(working_days.closes_at)
    own = [
        f"{day.day}: {'counts' if day.is_working else 'does not count'}, {day.name}"
        for day in working_days.centre_days
    ]
    also = f" The centre's own days: {'; '.join(own)}." if own else ""
    return f"{days}, from {say_clock(working_days.opens_at)} to {closes}, without holidays.{also}"


def _holidays(holidays: Holidays) -> str:
    named = [*(LISTS[one] for one in holidays.lists), *(day.name for day in holidays.days)]
    doubtful = [
        *(LISTS[one] for one in holidays.doubtful_lists),
        *(day.name for day in holidays.doubtful_days),
    ]
    words = [f"{_capital(', '.join(named))}." if named else "None is certain."]
    if holidays.removed:
        words.append(f"Not {', '.join(holidays.removed)}.")
    if doubtful:
        words.append(f"Doubtful, and taken as is safe for each date: {', '.join(doubtful)}.")
    words.append(f"On a Saturday: {_shift(holidays.saturday)}; on a Sunday: {_shift(holidays.sunday)}.")
    return " ".join(words)


def _shift(shift: str) -> str:
    return {
        "friday": "observed the Friday before",
        "monday": "observed the Monday after",
        "none": "not moved",
        "doubtful": "moved or not is doubtful",
    }[shift]


def _receipt(receipt: Receipt) -> str:
    words = []
    then = f"counts as received at {say_clock(receipt.counts_at)} of the next working day"
    if receipt.cut_off is not None:
        words.append(f"A call after {say_clock(receipt.cut_off)} {then}.")
    if receipt.earliest > time(0):
        words.append(f"A call before {say_clock(receipt.earliest)} counts as made then.")
    if receipt.moves_off_days:
        words.append(f"A call on a day that does not count {then}.")
    return " ".join(words) or "When it is made."


def _notice(notice: Notice) -> str:
    begins = {
        "receipt": "the call" if notice.term.unit in HOUR_UNITS else "the day of the call",
        "next_day": f"{_at(notice.begins_at)} of the next day",
        "next_working_day": f"{_at(notice.begins_at)} of the next working day",
    }[notice.begins]
    words = [f"{_capital(_term(notice.term, begins))}."]
    if notice.stated_start_binds:
        words.append("A later start stated on the notice is the legal start.")
    return " ".join([*words, *map(_called_on, notice.called_on)])


def _called_on(rule: CalledOn) -> str:
    called_on, starts_on = WEEKDAYS[rule.called_on].title(), WEEKDAYS[rule.starts_on].title()
    words = f"Called on a {called_on}: {starts_on} {say_clock(rule.at)}"
    if rule.holiday is None or rule.starts_on_then is None:
        return f"{words}."
    holiday, then = WEEKDAYS[rule.holiday].title(), WEEKDAYS[rule.starts_on_then].title()
    return f"{words}, or {then} where {holiday} is a holiday."


def _kind_rule(rule: KindRule) -> str:
    start = "At once" if rule.notice is None else _notice(rule.notice).rstrip(".")
    return f"{start}: {rule.conditions}."


def _deadline(deadline: Deadline) -> str:
    start = FROM[deadline.counted_from]
    reckoned = f"at {start}" if deadline.term is None else _term(deadline.term, start)
    return f"{deadline.what}: {reckoned}." if deadline.what else f"{reckoned}."


def _life(life: Life) -> str:
    if life.term is None:
        words = f"No fixed term: good {life.no_fixed_term}."
    else:
        words = f"{_capital(_term(life.term, FROM[life.counted_from]))}."
    if life.rolls_on:
        words += " A last day that does not count moves on to the next that does."
    if life.ends_early:
        words += f" It ends sooner when {' or '.join(life.ends_early)}."
    return words


def _renewal(renewal: Renewal) -> str:
    if renewal.lead is None:
        words = "By a new notice, whose notice period has run when the ticket ends."
    else:
        lead = say_term(renewal.lead)
        words = f"Called at least {lead} before the ticket ends, not counting the day of the call."
    if renewal.not_before is not None:
        words += f" Not more than {say_term(renewal.not_before)} before."
    if renewal.from_day is not None:
        words += f" Accepted from day {renewal.from_day} of the ticket."
    return f"{words} It goes on without a notice period." if renewal.runs_on else words


def _term(term: Term, start: str) -> str:
    if term.unit in HOUR_UNITS:
        return f"{say_term(term)} from {start}"
    link = f"from {start}, that day counted" if term.first_day_counts else f"after {start}"
    return f"{say_term(term)} {link}, to {_end(term.end)}"


def _end(end: End) -> str:
    return f"{'the same time' if end.at is None else say_clock(end.at)} {ENDS[end.day]}"


def _at(clock: time | None) -> str:
    return "" if clock is None else say_clock(clock)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
