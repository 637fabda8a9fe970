"""Moments as people on the job read them: in the job's zone, with the zone's abbreviation."""

from datetime import datetime
from zoneinfo import ZoneInfo


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
    clock = f"{local.hour % 12 or 12}:{local:%M} {'am' if local.hour < 12 else 'pm'}"
    return f"{local:%a %b} {local.day}, {local.year}, {clock} {local.tzname()}"
