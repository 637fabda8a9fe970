"""A moment on the way of a ticket: when it is, how that came about, and what is doubtful about it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from locates.local_time import format_moment
from locates.one_call.calendar_terms import DoubtfulDay, Grounds
from locates.one_call.clock_terms import Clock
from locates.one_call.clock_words import say_days_taken, say_doubtful_days

ASK = "ask the one-call centre and enter the date"


@dataclass(frozen=True, kw_only=True, slots=True)
class ComputedDate:
    """A date of a ticket.

    Parameters
    ----------
    at : datetime or None
        In UTC; None where the rule does not say, or not surely.
    working : str
        One sentence: how it came about, or why there is none and what a person must find out.
    """

    at: datetime | None
    working: str


@dataclass(frozen=True, slots=True)
class Law:
    """A clock in the zone that it counts in.

    Parameters
    ----------
    clock : Clock
        The jurisdiction's.
    zone : ZoneInfo
        The law's own, else the job's.
    """

    clock: Clock
    zone: ZoneInfo


@dataclass(frozen=True, slots=True)
class Milestone:
    """One moment as read, which counts only where nothing about it is doubtful but days, taken as is safe.

    Parameters
    ----------
    at : datetime or None
        In the law's zone; None where it cannot be said at all.
    clauses : tuple of str
        How it came about; without a moment, why.
    doubts : tuple of str or DoubtfulDay
        Why it is not sure, and the doubtful days on the way.
    known_as : str
        What it is called where another date is counted from it; "" for its usual name.
    """

    at: datetime | None
    clauses: tuple[str, ...] = ()
    doubts: tuple[str | DoubtfulDay, ...] = ()
    known_as: str = ""

    def doubted(self, doubts: Iterable[str | DoubtfulDay]) -> "Milestone":
        """The same with more doubts."""
        return replace(self, doubts=tuple(dict.fromkeys((*self.doubts, *doubts))))

    def ending(self, *clauses: str) -> "Milestone":
        """The same with more said."""
        return replace(self, clauses=(*self.clauses, *clauses))


def unknown(reason: str) -> Milestone:
    """A moment that cannot be said, and why."""
    return Milestone(None, (reason,))


def moment_of(milestone: Milestone) -> datetime:
    """The moment of a milestone that has one."""
    if milestone.at is None:
        raise ValueError(milestone)
    return milestone.at


def doubts_of(grounds: Grounds) -> tuple[str, ...]:
    """Why a part is not sure; nothing where it is."""
    return () if grounds.is_sure else (f"{grounds.doubt} ({grounds.citation})",)


def computed(milestone: Milestone, result: str, safe_side: str) -> ComputedDate:
    """A milestone as a person may rely on it.

    Parameters
    ----------
    milestone : Milestone
        As read.
    result : str
        What the moment is, such as "may start".
    safe_side : str
        What makes it safe to take doubtful days as they were taken, such as "the later start".

    Returns
    -------
    ComputedDate
        None for every moment about which more is doubtful than days; the reading is told all the same.
    """
    days = [doubt for doubt in milestone.doubts if isinstance(doubt, DoubtfulDay)]
    if milestone.at is None:
        why = "; ".join(milestone.clauses)
        return ComputedDate(
            at=None, working=_sentence((f"not computed: {why}", say_doubtful_days(days), ASK))
        )
    when = say_in_full(milestone.at)
    taken = say_days_taken(days, safe_side)
    in_words = [doubt for doubt in milestone.doubts if not isinstance(doubt, DoubtfulDay)]
    if in_words:
        first, *others = in_words
        doubts = (f"not computed, as this is not certain: {first}", *others)
        reading = f"as it was read, it would be {when}"
        return ComputedDate(at=None, working=_sentence((*doubts, taken, reading, ASK)))
    return ComputedDate(
        at=milestone.at.astimezone(UTC), working=_sentence((*milestone.clauses, taken, f"{result} {when}"))
    )


def say(moment: datetime) -> str:
    """Weekday, day and time, without the year."""
    in_full = say_in_full(moment)
    return in_full.replace(f", {moment.year},", ",", 1)


def say_in_full(moment: datetime) -> str:
    """Weekday, date and time in the moment's own zone."""
    return format_moment(moment, str(moment.tzinfo))


def _sentence(clauses: Iterable[str]) -> str:
    words = "; ".join(clause.strip().rstrip(".") for clause in clauses if clause.strip())
    return f"{words[:1].upper()}{words[1:]}."
