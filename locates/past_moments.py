"""Moments of a job's past: one that a person asks for, and those at which something changed."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import Count, Max

from locates.errors import MomentError
from locates.exchange.moments import read_moment, write_moment
from locates.local_time import format_moment, parse_local
from locates.models import RecordEvent

MOMENTS_EACH_WAY = 10
MIGRATION = "migration"


@dataclass(frozen=True, slots=True)
class Change:
    """What one transaction changed of a job: when it was done, how many events, who and from where."""

    settled_at: datetime
    count: int
    person_name: str
    source: str

    @property
    def second(self) -> str:
        """Second of its minute, to the millisecond: moments of one minute are told apart by it."""
        return f"{self.settled_at:%S.%f}"[:-3]

    @property
    def address(self) -> str:
        """The moment as the address of a page names it, to the microsecond."""
        return write_moment(self.settled_at)


@dataclass(frozen=True, slots=True)
class Moments:
    """The nearest changes on both sides of a moment, each list with the nearest first."""

    before: list[Change]
    after: list[Change]


def database_clock() -> datetime:
    """The clock by which events are dated."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        [moment] = cursor.fetchone()
    return moment


def read_past_moment(text: str, time_zone: str, now: datetime) -> datetime:
    """The moment that an address or a person names.

    Raises `MomentError` for what cannot be read and for what has not come yet.
    """
    try:
        moment = read_moment(text)
    except ValueError:
        moment = parse_local(text, time_zone)
    if moment > now:
        raise MomentError(text, f"it has not come yet: it is {format_moment(now, time_zone)} now")
    return moment


def begins(job_id: UUID) -> RecordEvent | None:
    """The first event of a job; its source says whether the job was there before the record began."""
    return RecordEvent.objects.filter(job_id=job_id, record_id=job_id).order_by("id").first()


def moments_about(job_id: UUID, at: datetime) -> Moments:
    """The changes of a job that are nearest to a moment."""
    changes = (
        RecordEvent.objects.filter(job_id=job_id)
        .order_by()
        .values("transaction_id", "transaction_began_at")
        .annotate(settled_at=Max("happened_at"), events=Count("id"))
        .annotate(who=Max("person_name"), where=Max("source"))
    )
    before = changes.filter(settled_at__lte=at).order_by("-settled_at")
    after = changes.filter(settled_at__gt=at).order_by("settled_at")
    nearest = ([_change(one) for one in side[:MOMENTS_EACH_WAY]] for side in (before, after))
    return Moments(*nearest)


def _change(row: dict[str, Any]) -> Change:
    return Change(row["settled_at"], row["events"], row["who"], row["where"])
