"""What a one-call law can say about its calendar: which days count, and in which time zone.

Each part carries its own `Grounds`: where it was read, and whether that is sure.
"""

from dataclasses import dataclass
from datetime import date, time

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
HOLIDAY_LISTS = ("federal", "state", "federal_and_state")
SHIFTS_OF_SATURDAY = ("friday", "none", "doubtful")
SHIFTS_OF_SUNDAY = ("monday", "none", "doubtful")


@dataclass(frozen=True, kw_only=True, slots=True)
class Grounds:
    """Where a part of a clock was read, and how sure that is.

    Parameters
    ----------
    is_sure : bool
        Read rather than remembered, and no other reading differs.
    citation : str
        The text that says so.
    doubt : str
        Why it is not sure, in words for the person who must ask; "" where it is.
    """

    is_sure: bool
    citation: str
    doubt: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class LawZone:
    """Time zone in which the law counts, wherever the job lies.

    Parameters
    ----------
    name : str
        IANA name.
    """

    name: str
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class DayOfYear:
    """A holiday by its rule.

    Parameters
    ----------
    name : str
        As people call it.
    month : int
        1 to 12.
    day : int or None
        Fixed day of the month; None where it is the `nth` `weekday`.
    nth : int or None
        1 to 4 from the start of the month, -1 the last.
    weekday : int or None
        0 is Monday.
    days_after : int
        Added to the day that the rule gives, such as 1 for the day after the fourth Thursday.
    """

    name: str
    month: int
    day: int | None = None
    nth: int | None = None
    weekday: int | None = None
    days_after: int = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Holidays:
    """Days on which the clock of working days stands still.

    Parameters
    ----------
    state : str
        Two capital letters, for the published list of the state's legal holidays.
    lists : tuple of str
        Of `HOLIDAY_LISTS`: published lists whose days count.
    days : tuple of DayOfYear
        Days that the law itself names.
    removed : tuple of str
        Names of days of the lists that do not count.
    doubtful_lists, doubtful_days
        Days of which it is not known whether they count: each date takes them as is safe for it.
    saturday, sunday : str
        Where a holiday on that day is observed instead: "friday" or "monday", "none", or "doubtful".
    one_a_day : bool
        Two holidays that would be observed on one day take two working days.
    grounds : Grounds
        Where not sure, every holiday is doubtful.
    """

    state: str
    lists: tuple[str, ...] = ()
    days: tuple[DayOfYear, ...] = ()
    removed: tuple[str, ...] = ()
    doubtful_lists: tuple[str, ...] = ()
    doubtful_days: tuple[DayOfYear, ...] = ()
    saturday: str = "doubtful"
    sunday: str = "doubtful"
    one_a_day: bool = False
    grounds: Grounds


@dataclass(frozen=True, kw_only=True, slots=True)
class CentreDay:
    """One day that a one-call centre itself counts otherwise than the law's calendar says.

    Parameters
    ----------
    day : date
        Which.
    is_working : bool
        Whether it counts as a working day there.
    name : str
        Why.
    """

    day: date
    is_working: bool
    name: str


@dataclass(frozen=True, slots=True)
class DoubtfulDay:
    """A day of which nobody is sure whether it counts, and for what it was taken.

    Parameters
    ----------
    day : date
        Which.
    name : str
        The holiday that it may be.
    is_counted : bool
        Whether it was taken for a working day.
    """

    day: date
    name: str
    is_counted: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class WorkingDays:
    """Which days count, and from when to when.

    Parameters
    ----------
    weekdays : tuple of int
        0 is Monday.
    opens_at : time
        Start of the working day.
    closes_at : time or None
        Its end; None is midnight at the end of the day.
    doubtful_days_count : bool
        For what a day is taken of which nobody is sure. No law says: `clock.ticket_dates` counts both ways.
    """

    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    opens_at: time = time(0)
    closes_at: time | None = None
    holidays: Holidays
    centre_days: tuple[CentreDay, ...] = ()
    doubtful_days_count: bool = False
    grounds: Grounds
