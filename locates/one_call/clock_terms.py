"""What a one-call law can say about dates: the terms that every jurisdiction's clock is put together from.

A part that is not sure, or None because nothing was read, never yields a date; `clock_reader` says how one is
written down.
"""

from dataclasses import dataclass, field
from datetime import time

from locates.one_call.calendar_terms import Grounds, LawZone, WorkingDays

HOUR_UNITS = ("hours", "working hours")
WORKING_DAY_UNITS = ("working days", "business days", "full working days", "full business days")
UNITS = (*HOUR_UNITS, *WORKING_DAY_UNITS, "calendar days")
# Moments that terms are counted from: those known before the start is, before the answers are due, and all.
MOMENTS_BEFORE = ("call", "receipt", "notice begins", "notice ends")
MOMENTS_OF_ANSWERS = (*MOMENTS_BEFORE, "legal start", "stated start")
MOMENTS = (*MOMENTS_OF_ANSWERS, "answers due")
END_DAYS = ("last", "next", "next_working")
BEGIN_DAYS = ("receipt", "next_day", "next_working_day")
POLICIES = ("wait", "call_again", "go_on_with_care")
KINDS = ("routine", "emergency", "renewal", "re_mark", "site_meeting")
# A renewal and a re-mark are called in as a new notice unless the clock gives the kind a rule of its own.
KINDS_OF_NOTICE = ("routine", "renewal", "re_mark")


@dataclass(frozen=True, kw_only=True, slots=True)
class Receipt:
    """When a call counts as received, where that is not the moment of the call.

    Parameters
    ----------
    opens_at : time or None
        A call before it counts as made then.
    cut_off : time or None
        A call later than it counts as received at `counts_at` of the next working day.
    only_working_days : bool
        A call on any other day counts as received at `counts_at` of the next working day.
    counts_at : time
        See there.

    Notes
    -----
    A later call never counts as received sooner than an earlier one. Read to the letter, a cut-off alone
    would let a call on a Saturday count from that day, and one late on the Friday before it from Monday: with
    a cut-off such a call waits too. So does one before `counts_at` of the day to which late ones are moved.
    """

    opens_at: time | None = None
    cut_off: time | None = None
    only_working_days: bool = False
    counts_at: time = time(0)
    grounds: Grounds

    @property
    def moves_off_days(self) -> bool:
        """Whether a call on a day that does not count is moved to the next that does."""
        return self.only_working_days or self.cut_off is not None

    @property
    def earliest(self) -> time:
        """A call on a working day before this counts as made then."""
        moved_to = self.counts_at if self.moves_off_days else time(0)
        return max(self.opens_at or time(0), moved_to)


@dataclass(frozen=True, kw_only=True, slots=True)
class End:
    """Where in the day a count of days ends.

    Parameters
    ----------
    day : str
        Of `END_DAYS`: the last day counted, the day after it, or the working day after it.
    at : time or None
        Time of day; None is that of the moment counted from.
    """

    day: str = "last"
    at: time | None = time(23, 59)


@dataclass(frozen=True, kw_only=True, slots=True)
class Term:
    """A length of time as a law counts it.

    Parameters
    ----------
    count : int
        How many.
    unit : str
        Of `UNITS`. Hours run on working days only, working hours only in the hours of those days; all are
        real hours, whatever the clocks do.
    first_day_counts : bool
        Whether the day counted from is the first of the days.
    end : End
        For days.
    """

    count: int
    unit: str
    first_day_counts: bool = False
    end: End = field(default_factory=End)


@dataclass(frozen=True, kw_only=True, slots=True)
class CalledOn:
    """A start that the law fixes for calls on one weekday.

    Parameters
    ----------
    called_on : int
        Weekday of the call, 0 is Monday.
    starts_on : int
        The next such weekday after the call.
    at : time
        Time of day.
    holiday, starts_on_then : int or None
        Where the next such weekday after the call is a holiday, the start is on another weekday.
    """

    called_on: int
    starts_on: int
    at: time
    holiday: int | None = None
    starts_on_then: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Notice:
    """How long before the work the notice must be given.

    Parameters
    ----------
    term : Term
        Its length; days end by default at midnight after the last.
    begins : str
        Of `BEGIN_DAYS`: from when hours run, and what "notice begins" means for other terms.
    begins_at : time or None
        Time of day, needed unless it begins on receipt.
    stated_start_binds : bool
        A later start stated on the notice is the legal start.
    called_on : tuple of CalledOn
        Weekdays with a start of their own.
    """

    term: Term
    begins: str = "receipt"
    begins_at: time | None = None
    stated_start_binds: bool = True
    called_on: tuple[CalledOn, ...] = ()
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class EarlyStart:
    """Whether work may start before the notice has run where every operator has answered.

    Parameters
    ----------
    is_allowed : bool
        Whether it may; no date is moved by it.
    """

    is_allowed: bool
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class Deadline:
    """A moment reckoned from another one.

    Parameters
    ----------
    counted_from : str
        Of `MOMENTS`.
    term : Term or None
        None is the moment itself.
    what : str
        What must be done by then, in words.
    """

    counted_from: str
    term: Term | None
    what: str = ""
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class Life:
    """How long a ticket is good.

    Parameters
    ----------
    term : Term or None
        None where the law gives no fixed term.
    counted_from : str
        Of `MOMENTS`; "" without a term.
    no_fixed_term : str
        How long it is good then, such as "while the marks are visible".
    rolls_on : bool
        A last day that is no working day moves to the next one that is.
    ends_early : tuple of str
        What ends it sooner, in words.
    """

    term: Term | None
    counted_from: str = ""
    no_fixed_term: str = ""
    rolls_on: bool = False
    ends_early: tuple[str, ...] = ()
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class Renewal:
    """When the next notice must be called so that the work is covered without a gap.

    Parameters
    ----------
    lead : Term or None
        So many days follow the day of the call, up to and with the last day of the ticket; None where the law
        asks only for a new notice, so that its notice period decides.
    not_before : Term or None
        Longest lead that the law accepts.
    from_day : int or None
        First day of the ticket's life, in the unit of its term, on which a renewal is accepted.
    runs_on : bool
        A renewal goes on without a notice period of its own.
    """

    lead: Term | None = None
    not_before: Term | None = None
    from_day: int | None = None
    runs_on: bool = False
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class Silence:
    """What an operator's silence means.

    Parameters
    ----------
    policy : str
        Of `POLICIES`.
    words : str
        What the law says, for a person.
    """

    policy: str
    words: str
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class KindRule:
    """Rule of its own for one kind of ticket.

    Parameters
    ----------
    starts_at_once : bool
        No notice period.
    conditions : str
        Under which, in words.
    notice : Notice or None
        Notice of its own, where it does not start at once.
    """

    starts_at_once: bool
    conditions: str
    notice: Notice | None
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class Clock:
    """All that a jurisdiction's law says about the dates of a ticket; None is what was not read.

    Parameters
    ----------
    working_days : WorkingDays
        Its calendar.
    zone : LawZone or None
        None where the law counts in the job's own zone.
    receipt : Receipt or None
        None where a call counts as received when it is made.
    response : Deadline or None
        By when operators answer.
    latest_start : tuple of Deadline
        The work begins, or may be asked for, before each of these; () where the law sets none.
    """

    working_days: WorkingDays
    zone: LawZone | None = None
    receipt: Receipt | None = None
    notice: Notice | None = None
    early_start: EarlyStart | None = None
    response: Deadline | None = None
    latest_start: tuple[Deadline, ...] = ()
    life: Life | None = None
    renewal: Renewal | None = None
    silence: Silence | None = None
    kinds: tuple[tuple[str, KindRule], ...] = ()
