"""Where the ticks of a time axis stand, and what they say."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

MOST_TICKS = 9
HOUR, DAY, WEEK, MONTH, YEAR = "hour", "day", "week", "month", "year"
STEPS = (
    *((HOUR, count) for count in (1, 2, 3, 6, 12)),
    *((DAY, count) for count in (1, 2)),
    *((WEEK, count) for count in (1, 2)),
    *((MONTH, count) for count in (1, 2, 3, 6)),
    *((YEAR, count) for count in (1, 2, 5, 10, 20, 50)),
)
"""From one tick to the next. Days begin at midnight, weeks on Monday, months and years on the first."""
LEAST_HOURS = {HOUR: 1, DAY: 24, WEEK: 168, MONTH: 672, YEAR: 8760}


@dataclass(frozen=True)
class TimeTick:
    """A moment of the axis and its two lines of words."""

    at: datetime
    upper: str
    lower: str


def time_ticks(
    first: datetime, last: datetime, time_zone: str, most: int = MOST_TICKS
) -> tuple[datetime, datetime, list[TimeTick]]:
    """Beginning and end of an axis that holds two moments, and its ticks.

    Parameters
    ----------
    first, last : datetime
        With an offset, in this order or the same.
    time_zone : str
        IANA name; ticks stand where hours, days, weeks, months or years of its clock begin.
    most : int
        Ticks that the axis has room for, 3 or more; one more may stand.

    Returns
    -------
    begin, end : datetime
        At ticks, in UTC, never the same.
    ticks : list of TimeTick
        No more than asked for, and one, for a span of up to ``(most - 1) * 50`` years.
    """
    zone = ZoneInfo(time_zone)
    # Counted on the clock of the zone, so that a day of 23 hours has its midnights too.
    low, high = (at.astimezone(zone).replace(tzinfo=None) for at in (first, last))
    hours = (high - low) / timedelta(hours=1)
    unit, count = next((one for one in STEPS if hours / (LEAST_HOURS[one[0]] * one[1]) < most - 1), STEPS[-1])
    local = [_begin(low, unit, count)]
    while local[-1] < high or len(local) < 2:
        local.append(_next(local[-1], unit, count))
    moments = [one.replace(tzinfo=zone).astimezone(UTC) for one in local]
    # An hour that the clock skips is the moment of the next one, which says so itself.
    ticks = [
        TimeTick(moment, *_words(one, unit))
        for moment, one, after in zip(moments, local, [*moments[1:], None], strict=True)
        if moment != after
    ]
    return ticks[0].at, ticks[-1].at, ticks


def _begin(local: datetime, unit: str, count: int) -> datetime:
    """Where the stretch begins in which a moment of a clock lies."""
    hour = local.replace(minute=0, second=0, microsecond=0)
    if unit == HOUR:
        return hour.replace(hour=hour.hour // count * count)
    day = hour.replace(hour=0)
    if unit == DAY:
        return day
    if unit == WEEK:
        return day - timedelta(days=day.weekday())
    if unit == MONTH:
        return day.replace(day=1, month=(day.month - 1) // count * count + 1)
    return day.replace(day=1, month=1, year=max(1, day.year // count * count))


def _next(local: datetime, unit: str, count: int) -> datetime:
    if unit in (HOUR, DAY, WEEK):
        return local + timedelta(hours=LEAST_HOURS[unit] * count)
    months = local.year * 12 + local.month - 1 + (count if unit == MONTH else 12 * count)
    return local.replace(year=months // 12, month=months % 12 + 1)


def _words(local: datetime, unit: str) -> tuple[str, str]:
    day = f"{local:%b} {local.day}"
    if unit == HOUR:
        return f"{local.hour % 12 or 12} {'am' if local.hour < 12 else 'pm'}", day
    if unit in (DAY, WEEK):
        return day, str(local.year)
    return (f"{local:%b}", str(local.year)) if unit == MONTH else (str(local.year), "")
