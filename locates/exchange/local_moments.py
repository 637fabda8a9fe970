"""Dates and times as people write them in tables, read in the job's time zone."""

import re
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from locates.exchange.moments import read_moment

DATE_ORDERS = {
    "ymd": "year, month, day (2026-11-06)",
    "mdy": "month, day, year (11/06/2026)",
    "dmy": "day, month, year (06/11/2026)",
}
MOMENT_EXAMPLES = "a date with or without a time, such as 2026-11-06 14:30 or 2026-11-06T14:30:00-05:00"

_SEPARATED = r"(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})"
_CLOCK = r"(\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)?(?: ?([ap])\.?m\.?)?"
_MOMENT = re.compile(rf"{_SEPARATED}(?:(?:[ T]|, ?){_CLOCK})?", re.ASCII | re.IGNORECASE)
_PLACES = {"ymd": (0, 1, 2), "mdy": (2, 0, 1), "dmy": (2, 1, 0)}


def read_local_moment(text: str, order: str, time_zone: str, *, end_of_day: bool = False) -> datetime:
    """Moment that a person wrote.

    Parameters
    ----------
    text : str
        RFC 3339 with its offset, or a date with or without a time of the zone.
    order : {"ymd", "mdy", "dmy", ""}
        Order of the date's numbers; a year of four digits in front is year, month, day in any order, and all
        that "" takes.
    time_zone : str
        IANA name of the job's zone.
    end_of_day : bool
        What a date alone means: its last second, else its first moment.

    Returns
    -------
    datetime
        Aware.

    Raises
    ------
    ValueError
        With words for people: no date, a year of two digits, an hour that the clocks skip or pass twice.
    """
    try:
        return read_moment(text)
    except ValueError:
        match = _MOMENT.fullmatch(text)
    if match is None:
        raise ValueError(MOMENT_EXAMPLES)
    numbers = match.groups()[:3]
    if len(numbers[0]) != 4 and order not in DATE_ORDERS:
        raise ValueError(f"a date whose order you chose, one of: {'; '.join(DATE_ORDERS.values())}")
    order = "ymd" if len(numbers[0]) == 4 else order
    year, month, day = (numbers[place] for place in _PLACES[order])
    if len(year) != 4:
        raise ValueError(f"a year of four digits, in the order {DATE_ORDERS[order]}")
    clock = _clock(match, end_of_day=end_of_day)
    try:
        local = datetime.combine(datetime(int(year), int(month), int(day)), clock)
    except ValueError as error:
        raise ValueError(f"a day that there is, in the order {DATE_ORDERS[order]}") from error
    return _in_zone(local, time_zone)


def _clock(match: re.Match[str], *, end_of_day: bool) -> time:
    hours, minutes, seconds, half = match.groups()[3:]
    if hours is None:
        return time(23, 59, 59) if end_of_day else time()
    hour = int(hours)
    if half:
        if not 1 <= hour <= 12:
            raise ValueError("an hour of 1 to 12 before am or pm")
        hour = hour % 12 + (12 if half.lower() == "p" else 0)
    if hour > 23 or int(minutes) > 59 or int(seconds or 0) > 59:
        raise ValueError("a time of day, such as 14:30 or 2:30 pm")
    return time(hour, int(minutes), int(seconds or 0))


def _in_zone(local: datetime, time_zone: str) -> datetime:
    zone = ZoneInfo(time_zone)
    first, second = local.replace(tzinfo=zone), local.replace(tzinfo=zone, fold=1)
    if first.utcoffset() != second.utcoffset():
        is_skipped = (second.utcoffset() or timedelta()) > (first.utcoffset() or timedelta())
        passes = "skip" if is_skipped else "pass twice"
        raise ValueError(
            f"an hour that the clocks of {time_zone} do not {passes}, or the time with its offset"
        )
    return first
