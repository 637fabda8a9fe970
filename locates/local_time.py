"""Moments as people on the job read and write them: in the job's zone, with the zone's abbreviation."""

import re
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from locates.errors import MomentError
from locates.exchange.moments import EARLIEST_YEAR, LATEST_YEAR

EXAMPLE = "write the day and the time as 2026-11-05 7:00 am or 2026-11-05 19:00"

_WRITTEN = re.compile(
    r"(?P<day>\d{4}-\d{1,2}-\d{1,2})(?:[T ] ?)"
    r"(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:\.0+)?)?"
    r"(?: ?(?P<half>[ap])\.?m\.?)?(?: ?(?P<name>[a-z]{1,5}|[+-]\d{2,4}))?",
    re.ASCII | re.IGNORECASE,
)


def format_moment(moment: datetime, time_zone: str) -> str:
    """Weekday, date and clock time in a zone.

    Parameters
    ----------
    moment : datetime
        With an offset.
    time_zone : str
        IANA name.

    Returns
    -------
    str
        Such as ``Thu Nov 26, 2026, 2:10 pm EST``.
    """
    local = moment.astimezone(ZoneInfo(time_zone))
    return f"{local:%a %b} {local.day}, {local.year}, {_clock(local)} {local.tzname()}"


def format_day(day: date) -> str:
    """Weekday and date, such as ``Thu Nov 26, 2026``."""
    return f"{day:%a %b} {day.day}, {day.year}"


def format_clock(moment: datetime, time_zone: str) -> str:
    """Clock time in a zone, for a line that stands under its day.

    Parameters
    ----------
    moment : datetime
        With an offset.
    time_zone : str
        IANA name.

    Returns
    -------
    str
        Such as ``2:10 pm EST``.
    """
    local = moment.astimezone(ZoneInfo(time_zone))
    return f"{_clock(local)} {local.tzname()}"


def write_local(moment: datetime, time_zone: str) -> str:
    """Moment for a field that `parse_local` reads, to the minute.

    Parameters
    ----------
    moment : datetime
        With an offset.
    time_zone : str
        IANA name.

    Returns
    -------
    str
        Such as ``2026-11-26T14:10``; in an hour that comes twice with the zone's abbreviation.

    Examples
    --------
    >>> write_local(datetime(2026, 11, 1, 5, 30, tzinfo=UTC), "America/New_York")
    '2026-11-01 01:30 EDT'
    """
    local = moment.astimezone(ZoneInfo(time_zone))
    if _comes_twice(local):
        return f"{local:%Y-%m-%d %H:%M} {local.tzname()}"
    return f"{local:%Y-%m-%dT%H:%M}"


def parse_local(text: str, time_zone: str) -> datetime:
    """Moment that a person wrote in a zone.

    Parameters
    ----------
    text : str
        Year, month and day, then hours and minutes, with am or pm or of 24 hours; the zone's abbreviation
        where the hour comes twice.
    time_zone : str
        IANA name.

    Returns
    -------
    datetime
        In UTC.

    Raises
    ------
    MomentError
        Another form, a day or hour that does not exist, an hour that comes twice without an abbreviation.

    Examples
    --------
    >>> parse_local("2026-11-05 7:00 am", "America/New_York").isoformat()
    '2026-11-05T12:00:00+00:00'
    """
    match = _WRITTEN.fullmatch(" ".join(text.split()))
    if match is None:
        raise MomentError(text, EXAMPLE)
    zone = ZoneInfo(time_zone)
    local = _local(text, match).replace(tzinfo=zone)
    if not EARLIEST_YEAR <= local.year <= LATEST_YEAR:
        raise MomentError(text, f"the year stays between {EARLIEST_YEAR} and {LATEST_YEAR}")
    there = local.astimezone(UTC).astimezone(zone)
    if there.replace(tzinfo=None) != local.replace(tzinfo=None):
        raise MomentError(
            text,
            f"there is no {_clock(local)} on that day in {time_zone}: the clocks go forward then, "
            f"and the moment that comes instead is {_clock(there)}",
        )
    name = (match["name"] or "").upper()
    choices = [local.replace(fold=fold) for fold in ((0, 1) if _comes_twice(local) else (0,))]
    named = [one for one in choices if not name or name == (one.tzname() or "").upper()]
    if len(named) == 1:
        return named[0].astimezone(UTC)
    names = " or ".join(f"{one:%Y-%m-%d %H:%M} {one.tzname()}" for one in choices)
    if named:
        raise MomentError(text, f"{_clock(local)} comes twice on that day in {time_zone}: write {names}")
    raise MomentError(text, f"the clocks of {time_zone} say otherwise then: write {names}")


def _local(text: str, match: re.Match[str]) -> datetime:
    hour, half = int(match["hour"]), (match["half"] or "").lower()
    if half and not 1 <= hour <= 12:
        raise MomentError(text, "an hour before am or pm is one of 1 to 12")
    hour = hour % 12 + 12 * (half == "p") if half else hour
    year, month, day = map(int, match["day"].split("-"))
    try:
        return datetime(year, month, day, hour, int(match["minute"]), int(match["second"] or 0))
    except ValueError as error:
        raise MomentError(text, "there is no such day or hour") from error


def _comes_twice(local: datetime) -> bool:
    first, second = local.replace(fold=0).utcoffset(), local.replace(fold=1).utcoffset()
    return first is not None and second is not None and first > second


def _clock(local: datetime) -> str:
    return f"{local.hour % 12 or 12}:{local:%M} {'am' if local.hour < 12 else 'pm'}"
