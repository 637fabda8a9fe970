"""Read the dates of tickets within a span, one query for each kind of date."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from locates.calendar_entries import DateKind, Entry
from locates.models import Follow, Ticket, organisation_of

_COLUMNS = (
    "pk",
    "job_id",
    "number",
    "job__name",
    "job__time_zone",
    "version",
    "edited_at",
    "called_at",
    "retired_at",
    "standing__state",
    "standing__awaited_count",
)


@dataclass(frozen=True)
class Span:
    """What to read: from a moment up to another, of one job or all, of all tickets or those followed.

    ``viewer_id`` is the person whose calendar it is: other companies' tickets do not stand in it.
    """

    viewer_id: int | None
    begin: datetime
    end: datetime
    job_id: UUID | None = None
    follower_id: int | None = None
    with_retired: bool = False


def read_entries(span: Span, most: int) -> tuple[list[Entry], bool]:
    """The earliest ``most`` dates of a span in their order, and whether there are more."""
    tickets = _tickets(span)
    found: list[Entry] = []
    for kind in DateKind:
        within = tickets.filter(**{f"{kind}__gte": span.begin, f"{kind}__lt": span.end}).order_by(kind, "pk")
        found += [_entry(kind, row) for row in within.values_list(kind, *_COLUMNS)[: most + 1]]
    found.sort(key=lambda one: (one.at, one.kind, one.number))
    return found[:most], len(found) > most


def _tickets(span: Span) -> QuerySet[Ticket]:
    tickets = Ticket.with_retired if span.with_retired else Ticket.objects
    found = tickets.filter(job__organisation_id=organisation_of(span.viewer_id))
    if not span.with_retired:
        found = found.filter(job__retired_at__isnull=True)
    if span.job_id is not None:
        found = found.filter(job_id=span.job_id)
    if span.follower_id is not None:
        mine = Follow.objects.filter(person_id=span.follower_id)
        jobs = mine.filter(job__isnull=False).values("job_id")
        followed = mine.filter(ticket__isnull=False).values("ticket_id")
        found = found.filter(Q(job_id__in=jobs) | Q(pk__in=followed))
    return found


def _entry(kind: DateKind, row: tuple) -> Entry:
    at, key, job_id, number, job, time_zone, version, edited_at, called_at, retired_at, state, awaited = row
    return Entry(
        kind=kind,
        at=at,
        ticket_id=key,
        job_id=job_id,
        number=number,
        job=job,
        time_zone=time_zone,
        version=version,
        revised_at=max(filter(None, (edited_at or called_at, retired_at))),
        state=state or "",
        awaited_count=awaited,
        is_retired=retired_at is not None,
    )
