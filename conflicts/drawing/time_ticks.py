"""Where the ticks of a time axis stand, and what they say."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

MOST_TICKS = 9
STEPS_H = (1, 2, 3, 6, 12, 24, 48, 120, 168, 336, 720, 1440, 2160, 4320, 8760, 17520, 43800)
"""Hours between two ticks; from a day on they stand at midnight."""


@dataclass(frozen=True)
class TimeTick:
    """A moment of the axis and its two lines of words."""

    at: datetime
    upper: str
    lower: str


def time_ticks(first: datetime, last: datetime, time_zone: str) -> tuple[datetime, datetime, list[TimeTick]]:
    """Beginning and end of an axis that holds two moments, and its ticks.

    Parameters
    ----------
    first, last : datetime
        With an offset, in this order or the same.
    time_zone : str
        IANA name; ticks stand at whole hours or midnights of its clock.

    Returns
    -------
    begin, end : datetime
        At ticks, in UTC, never the same.
    ticks : list of TimeTick
        At most 10 for a span of up to 40 years.
    """
    zone = ZoneInfo(time_zone)
    # Counted on the clock of the zone, so that a day of 23 hours has its midnights too.
    low, high = (at.astimezone(zone).replace(tzinfo=None) for at in (first, last))
    hours = (high - low) / timedelta(hours=1)
    step_h = next((one for one in STEPS_H if hours / one < MOST_TICKS - 1), STEPS_H[-1])
    step = timedelta(hours=step_h)
    at = low.replace(minute=0, second=0, microsecond=0)
    at = at.replace(hour=at.hour // step_h * step_h if step_h < 24 else 0)
    local = [at]
    while local[-1] < high or len(local) < 2:
        local.append(local[-1] + step)
    moments = [one.replace(tzinfo=zone).astimezone(UTC) for one in local]
    # An hour that the clock skips is the moment of the next one, which says so itself.
    ticks = [
        TimeTick(moment, *_words(one, step_h))
        for moment, one, after in zip(moments, local, [*moments[1:], None], strict=True)
        if moment != after
    ]
    return ticks[0].at, ticks[-1].at, ticks


def _words(local: datetime, step_h: int) -> tuple[str, str]:
    day = f"{local:%b} {local.day}"
    if step_h >= 24:
        return day, str(local.year)
    return f"{local.hour % 12 or 12} {'am' if local.hour < 12 else 'pm'}", day
