"""Which days a jurisdiction counts as working days, and which of them nobody is sure of."""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from holidays import country_holidays

from locates.one_call.calendar_terms import DayOfYear, DoubtfulDay, Holidays, WorkingDays

STATES = frozenset(country_holidays("US").subdivisions)
# Years for which the published lists are kept; of any other year every weekday is doubtful.
FIRST_YEAR, LAST_YEAR = 1971, 2100  # the federal Monday holidays begin with 1971 (5 USC 6103)

_ONE_DAY = timedelta(days=1)
_SATURDAY, _SUNDAY = 5, 6


@dataclass(frozen=True, slots=True)
class Day:
    """One day as a jurisdiction counts it.

    Parameters
    ----------
    is_working : bool
        Whether it counts, or is taken to.
    holiday : str
        Why a weekday does not count; "" for a working day or a plain weekend.
    doubt : str, DoubtfulDay or None
        A day that may be a holiday; in words, why nothing can be said of it; None where it is certain.
    """

    is_working: bool
    holiday: str = ""
    doubt: str | DoubtfulDay | None = None


@lru_cache(maxsize=20_000)
def day_of(working_days: WorkingDays, day: date) -> Day:
    """How a jurisdiction counts a day.

    Parameters
    ----------
    working_days : WorkingDays
        Its calendar.
    day : date
        Which.

    Returns
    -------
    Day
        A day of the centre's own table is as the table says, whatever the lists say.

    Notes
    -----
    Dates of federal and state holidays are those of the `holidays` library, without its shifts of days that
    fall on a weekend: those are the jurisdiction's.
    """
    for own in working_days.centre_days:
        if own.day == day:
            return Day(own.is_working, "" if own.is_working else own.name)
    if day.weekday() not in working_days.weekdays:
        return Day(False)
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        return Day(True, "", f"which days of {day.year} are holidays")
    certain, doubtful = _holidays(working_days.holidays, day.year)
    if day in certain:
        return Day(False, certain[day])
    if day in doubtful:
        counts = working_days.doubtful_days_count
        return Day(counts, "" if counts else doubtful[day], DoubtfulDay(day, doubtful[day], counts))
    return Day(True)


def is_listed(state: str, name: str) -> bool:
    """Whether a published list has a holiday of that name, in any year of a leap year's cycle."""
    return any(
        name in names.split("; ")
        for one in ("federal", "state")
        for year in range(2024, 2032)
        for names in _published(one, state, year).values()
    )


@lru_cache(maxsize=2_000)
def _holidays(law: Holidays, year: int) -> tuple[dict[date, str], dict[date, str]]:
    """Days of a year that certainly do not count, and those of which it is doubtful; days on weekends too."""
    named = _natural(law, law.lists, law.days, year)
    also = _natural(law, law.doubtful_lists, law.doubtful_days, year)
    certain, doubtful = dict(named), {day: name for day, name in also.items() if day not in named}
    taken = set(named)
    for day, name in sorted(named.items()):
        shift, target = _observed(law, day)
        while shift != "doubtful" and law.one_a_day and target in taken and target != day:
            target += _ONE_DAY if target > day else -_ONE_DAY
        if target != day:
            (doubtful if shift == "doubtful" else certain).setdefault(target, f"{name}, observed")
            taken.add(target)
    for day, name in sorted(also.items()):
        target = _observed(law, day)[1]
        if target != day:
            doubtful.setdefault(target, f"{name}, observed")
    if not law.grounds.is_sure:
        return {}, doubtful | certain
    return certain, {day: name for day, name in doubtful.items() if day not in certain}


def _observed(law: Holidays, day: date) -> tuple[str, date]:
    """What the law does with a holiday on this weekday, and the day on which it would be observed."""
    if day.weekday() == _SATURDAY and law.saturday != "none":
        return law.saturday, day - _ONE_DAY
    if day.weekday() == _SUNDAY and law.sunday != "none":
        return law.sunday, day + _ONE_DAY
    return "none", day


def _natural(
    law: Holidays, lists: tuple[str, ...], days: tuple[DayOfYear, ...], year: int
) -> dict[date, str]:
    """Dates of holidays as they fall, of this year and its neighbours, whose shifts may reach into it."""
    found: dict[date, str] = {}
    for one_year in (year - 1, year, year + 1):
        for one in lists:
            for day, names in _published(one, law.state, one_year).items():
                kept = [name for name in names.split("; ") if name not in law.removed]
                if kept:
                    found.setdefault(day, " and ".join(kept))
        for rule in days:
            own = _date_of(rule, one_year)
            if own is not None:
                found[own] = rule.name
    return found


@lru_cache(maxsize=2_000)
def _published(which: str, state: str, year: int) -> dict[date, str]:
    federal = dict(country_holidays("US", years=year, observed=False))
    if which == "federal":
        return federal
    of_state = dict(country_holidays("US", subdiv=state, years=year, observed=False))
    if which == "state":
        return of_state
    return {day: names for day, names in of_state.items() if day in federal}


def _date_of(rule: DayOfYear, year: int) -> date | None:
    """Date of a rule's day in a year; None for a 29 February that the year does not have."""
    if rule.day is not None:
        try:
            found = date(year, rule.month, rule.day)
        except ValueError:
            return None
    else:
        found = _nth_weekday(rule, year)
    return found + timedelta(days=rule.days_after)


def _nth_weekday(rule: DayOfYear, year: int) -> date:
    if rule.nth is None or rule.weekday is None:
        raise ValueError(rule)
    if rule.nth > 0:
        first = date(year, rule.month, 1)
        return first + timedelta(days=(rule.weekday - first.weekday()) % 7 + 7 * (rule.nth - 1))
    last = date(year + rule.month // 12, rule.month % 12 + 1, 1) - _ONE_DAY
    return last - timedelta(days=(last.weekday() - rule.weekday) % 7)
