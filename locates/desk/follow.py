"""Follow a job or a ticket, and leave off."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.models import Follow, Job, NoticeSetting, Ticket


def follow_job(job: Job, *, by: AbstractBaseUser, at: datetime) -> None:
    """Have a person told of every ticket and mark of a job; twice is once."""
    with transaction.atomic():
        Follow.objects.bulk_create([Follow(person_id=by.pk, job=job)], ignore_conflicts=True)
        _begin(by, job.time_zone, at)


def follow_tickets(tickets: Iterable[Ticket], *, by: AbstractBaseUser, at: datetime) -> None:
    """Have a person told of tickets; twice is once. Whoever logs tickets follows them by this."""
    found = list(tickets)
    if found:
        with transaction.atomic():
            follows = [Follow(person_id=by.pk, ticket=ticket) for ticket in found]
            Follow.objects.bulk_create(follows, ignore_conflicts=True)
            _begin(by, found[0].job.time_zone, at)


def follow_logged(ticket: Ticket, *, by: AbstractBaseUser, at: datetime) -> None:
    """Have whoever logs a ticket follow it, and all who follow the one that it renews or re-marks."""
    follow_many_logged([ticket], by=by, at=at)


def follow_many_logged(tickets: Sequence[Ticket], *, by: AbstractBaseUser, at: datetime) -> None:
    """Do so for tickets of one job that are logged together."""
    follow_tickets(tickets, by=by, at=at)
    successors = defaultdict(list)
    for ticket in tickets:
        if ticket.previous_number:
            successors[ticket.previous_number].append(ticket)
    if not successors:
        return
    before = Follow.objects.filter(ticket__job=tickets[0].job_id, ticket__number__in=list(successors))
    people = before.values_list("person_id", "ticket__number").distinct()
    follows = [
        Follow(person_id=person_id, ticket=ticket)
        for person_id, number in people
        for ticket in successors[number]
    ]
    Follow.objects.bulk_create(follows, ignore_conflicts=True)


def leave_off(follow_ids: Iterable[int], *, by: AbstractBaseUser) -> int:
    """End a person's own follows, and give how many there were."""
    count, _ = Follow.objects.filter(person_id=by.pk, pk__in=list(follow_ids)).delete()
    return count


def _begin(person: AbstractBaseUser, time_zone: str, at: datetime) -> None:
    """Give the person the choices that count until they choose; the first digest is tomorrow's."""
    today = at.astimezone(ZoneInfo(time_zone)).date()
    setting = NoticeSetting(person_id=person.pk, digest_on=today, digest_at=at)
    NoticeSetting.objects.bulk_create([setting], ignore_conflicts=True)
