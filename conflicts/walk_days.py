"""Walks by the local days that they count for."""

from collections.abc import Iterable
from datetime import date, datetime
from itertools import groupby
from typing import Generic, NamedTuple, Protocol, TypeVar
from zoneinfo import ZoneInfo


class Answers(Protocol):
    """When a walk was made, and what it answered."""

    @property
    def walked_at(self) -> datetime:
        """When it was made."""

    @property
    def time_zone(self) -> str:
        """The job's zone when it was signed; nothing where that was not kept yet."""

    @property
    def marks_intact(self) -> bool:
        """Whether all marks were seen intact."""

    @property
    def device_checked(self) -> bool:
        """Whether the locating device was checked."""

    @property
    def holes_open(self) -> bool:
        """Whether the test holes were open."""


Walk = TypeVar("Walk", bound=Answers)


class WalkDay(NamedTuple, Generic[Walk]):
    """A local day with its walks, the last one first: that one counts."""

    day: date
    walks: list[Walk]

    @property
    def counts(self) -> Walk:
        """The walk that counts for the day."""
        return self.walks[0]


def local_day(moment: datetime, time_zone: str) -> date:
    """Day of a moment in a zone, from one local midnight to the next, be it 23, 24 or 25 hours long.

    Parameters
    ----------
    moment : datetime
        With an offset.
    time_zone : str
        IANA name.

    Returns
    -------
    date
        In the calendar of the zone.

    Raises
    ------
    ValueError
        A moment without an offset: it could be in any of two days.

    Examples
    --------
    >>> local_day(datetime.fromisoformat("2026-11-10T04:59:59+00:00"), "America/New_York").isoformat()
    '2026-11-09'
    """
    if moment.utcoffset() is None:
        raise ValueError(f"{moment} has no offset from UTC")
    return moment.astimezone(ZoneInfo(time_zone)).date()


def counts_at(walk: Answers, at: datetime, time_zone: str, rezoned_at: Iterable[datetime] = ()) -> bool:
    """Whether the day of a walk is the present one: in the zone in which it was signed, and in the job's now.

    A change of the job's zone never makes the walk of a day that is over one of today. A walk that does not
    keep its zone counts for the job's, and not any more once that was changed.

    Parameters
    ----------
    walk : a walk
        Made at or before ``at``.
    at : datetime
        With an offset.
    time_zone : str
        IANA name of the job's zone now.
    rezoned_at : iterable of datetime
        When the job's zone was changed.

    Returns
    -------
    bool
        Whatever the walk answers.
    """
    if not walk.time_zone and any(walk.walked_at < moment <= at for moment in rezoned_at):
        return False
    zones = (walk.time_zone or time_zone, time_zone)
    return all(local_day(walk.walked_at, zone) == local_day(at, zone) for zone in zones)


def by_day(walks: Iterable[Walk], time_zone: str) -> list[WalkDay[Walk]]:
    """Local days, the last one first, each with its walks.

    Parameters
    ----------
    walks : iterable of walks
        The last one first.
    time_zone : str
        IANA name, for walks that do not keep the zone in which they were signed.

    Returns
    -------
    list of WalkDay
        Days without a walk are left out.
    """
    days = groupby(walks, key=lambda walk: local_day(walk.walked_at, walk.time_zone or time_zone))
    return [WalkDay(day, list(of_day)) for day, of_day in days]


def not_so(walk: Answers) -> list[str]:
    """What a walk found not to be as drilling demands, as the ends of a sentence; nothing where all is well.

    Parameters
    ----------
    walk : a walk
        With its three answers.

    Returns
    -------
    list of str
        Such as ``the marks were not all intact``.
    """
    found = []
    if not walk.marks_intact:
        found.append("the marks were not all intact")
    if not walk.device_checked:
        found.append("the locating device was not checked")
    if not walk.holes_open:
        found.append("the test holes were not all open")
    return found
