"""Counts hours and days from a moment, as a law's calendar has them."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from locates.one_call.calendar import day_of
from locates.one_call.calendar_terms import DoubtfulDay, WorkingDays
from locates.one_call.clock_members import ClockError
from locates.one_call.clock_terms import HOUR_UNITS, End, Term

_ONE_DAY = timedelta(days=1)
_MOST_DAYS = (
    4_000  # no term is as long; a calendar without a working day is refused rather than walked for ever
)


class NoWorkingDayError(ClockError):
    """A calendar on which no day, or hardly any, is a working day.

    Parameters
    ----------
    found : str
        What was looked for in vain.
    """

    def __init__(self, found: str) -> None:
        super().__init__("working_days", found, "a calendar with working days")


@dataclass(frozen=True, slots=True)
class Count:
    """Where a count ends, and what it met.

    Parameters
    ----------
    at : datetime
        Its end, in the zone of the start.
    last : date
        The last day counted.
    skipped : tuple of (date, str)
        Weekdays on the way that did not count, and why.
    doubts : tuple of str or DoubtfulDay
        Days on the way of which nobody is sure; in words, what else is doubtful.
    """

    at: datetime
    last: date
    skipped: tuple[tuple[date, str], ...] = ()
    doubts: tuple[str | DoubtfulDay, ...] = ()


class Walk:
    """A walk from day to day that remembers which holidays and doubts it met.

    Parameters
    ----------
    working_days : WorkingDays
        The calendar.
    """

    def __init__(self, working_days: WorkingDays) -> None:
        self.working_days = working_days
        self.skipped: dict[date, str] = {}
        self.doubts: dict[str | DoubtfulDay, None] = {}

    def is_working(self, day: date) -> bool:
        """Whether a day counts."""
        found = day_of(self.working_days, day)
        if found.holiday:
            self.skipped[day] = found.holiday
        if found.doubt:
            self.doubts[found.doubt] = None
        return found.is_working

    def next_working(self, day: date) -> date:
        """First working day after a day."""
        return self.forward(day, 1)

    def forward(self, day: date, count: int) -> date:
        """The working day that is so many of them after a day."""
        for _ in range(_MOST_DAYS):
            if count <= 0:
                return day
            day += _ONE_DAY
            count -= self.is_working(day)
        raise NoWorkingDayError(f"no {count} working days after {day - _MOST_DAYS * _ONE_DAY}")

    def back(self, day: date, count: int) -> date:
        """The latest day after which so many working days follow up to and with `day`."""
        for _ in range(_MOST_DAYS):
            if count <= 0:
                return day
            count -= self.is_working(day)
            day -= _ONE_DAY
        raise NoWorkingDayError(f"no {count} working days before {day}")

    def passed(self) -> tuple[tuple[date, str], ...]:
        """The weekdays met that did not count, and why, by date."""
        return tuple(sorted(self.skipped.items()))

    def done(self, at: datetime, last: date) -> Count:
        """The count that ends there; a calendar that is not sure is a doubt of its own."""
        return Count(at, last, self.passed(), (*self.doubts, *calendar_doubts(self)))


def calendar_doubts(walk: Walk) -> tuple[str, ...]:
    """Doubt about the calendar as a whole."""
    grounds = walk.working_days.grounds
    return () if grounds.is_sure else (grounds.doubt,)


def at_clock(day: date, clock: time, zone: ZoneInfo, *, later: bool) -> datetime:
    """Moment of a day and time of day in a zone.

    Parameters
    ----------
    day : date
        Which.
    clock : time
        Time of day there.
    zone : ZoneInfo
        The law's.
    later : bool
        Which of two moments is meant where the clocks pass the hour twice, or skip it.

    Returns
    -------
    datetime
        Aware, of an hour that the zone's clocks show.
    """
    local = datetime.combine(day, clock, tzinfo=zone)
    both = [local.replace(fold=fold).astimezone(UTC) for fold in (0, 1)]
    return (max(both) if later else min(both)).astimezone(zone)


def count_from(
    start: datetime, term: Term, working_days: WorkingDays, zone: ZoneInfo, *, later: bool
) -> Count:
    """Count a term from a moment.

    Parameters
    ----------
    start : datetime
        Aware, in `zone`.
    term : Term
        How much to count.
    working_days : WorkingDays
        The calendar.
    zone : ZoneInfo
        The law's.
    later : bool
        See `at_clock`: later for a start, sooner for an end.

    Returns
    -------
    Count
        Where it ends.

    Raises
    ------
    NoWorkingDayError
        A calendar without working days.

    Examples
    --------
    Two working days after a Thursday, Monday being a holiday, end on Tuesday.
    """
    walk = Walk(working_days)
    if term.unit in HOUR_UNITS:
        end = _run_hours(start, term, walk, zone)
        return walk.done(end, end.date())
    if term.unit == "calendar days":
        last = start.date() + (term.count - term.first_day_counts) * _ONE_DAY
    else:
        counts_first = term.first_day_counts and walk.is_working(start.date())
        last = walk.forward(start.date(), term.count - counts_first)
    at = at_clock(_end_day(last, term.end, walk), term.end.at or start.time(), zone, later=later)
    if term.unit == "calendar days" and term.end.day != "next_working":
        return Count(at, last)
    return walk.done(at, last)


def _end_day(last: date, end: End, walk: Walk) -> date:
    if end.day == "next_working":
        return walk.next_working(last)
    return last + _ONE_DAY if end.day == "next" else last


def _run_hours(start: datetime, term: Term, walk: Walk, zone: ZoneInfo) -> datetime:
    """Moment at which so many hours have run; all arithmetic in UTC, so that they are real hours."""
    left, at, day = timedelta(hours=term.count), start.astimezone(UTC), start.date()
    for _ in range(_MOST_DAYS):
        if walk.is_working(day):
            opens, closes = _hours_of(day, term, walk.working_days, zone)
            begins = max(at, opens)
            if begins + left <= closes:
                return (begins + left).astimezone(zone)
            left -= max(closes - begins, timedelta(0))
        day += _ONE_DAY
    raise NoWorkingDayError(f"no {term.count} {term.unit} after {start}")


def _hours_of(day: date, term: Term, working_days: WorkingDays, zone: ZoneInfo) -> tuple[datetime, datetime]:
    midnight = at_clock(day + _ONE_DAY, time(0), zone, later=False)
    if term.unit == "hours":
        opens, closes = at_clock(day, time(0), zone, later=False), midnight
    else:
        opens = at_clock(day, working_days.opens_at, zone, later=False)
        at = working_days.closes_at
        closes = midnight if at is None else at_clock(day, at, zone, later=False)
    return opens.astimezone(UTC), closes.astimezone(UTC)
