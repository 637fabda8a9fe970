"""Add or retire a day of a centre's own, and list the tickets that it would date otherwise."""

from datetime import datetime, time, timedelta
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from locates.desk.settle_dates import Worked, work_out
from locates.models import CentreDay, DayReview, Job, Organisation, Ticket
from locates.models.centre_day import Asked, own_days_of
from locates.one_call.calendar_terms import CentreDay as OwnDay
from locates.one_call.clock import Call
from locates.ticket_dates import DATES, computed_at

DaysOf = dict[Asked, tuple[OwnDay, ...]]

_FAR_ZONE = timedelta(hours=14)  # the day begins nowhere sooner than this before its midnight in UTC


def add_centre_day(day: CentreDay, *, by: AbstractBaseUser) -> int:
    """Keep a new day.

    Parameters
    ----------
    day : CentreDay
        Checked, not stored.
    by : AbstractBaseUser
        Who says so.

    Returns
    -------
    int
        How many tickets wait for a review because of it.
    """
    with transaction.atomic():
        companies = _companies(day)
        before = _days_of(day, companies)
        day.made_by = by
        day.save()
        return _ask_for_reviews(day, before, _days_of(day, companies))


def retire_centre_day(day_id: UUID, *, by: AbstractBaseUser) -> tuple[CentreDay, int]:
    """Let a day count as the lists of holidays have it; said twice it is said once.

    Returns the day and how many tickets wait for a review because of it; raises ``CentreDay.DoesNotExist``.
    """
    with transaction.atomic():
        day = CentreDay.objects.select_for_update().get(pk=day_id)
        if day.retired_at is not None:
            return day, 0
        companies = _companies(day)
        before = _days_of(day, companies)
        day.retired_at, day.retired_by = timezone.now(), by
        day.save(update_fields=["retired_at", "retired_by"])
        return day, _ask_for_reviews(day, before, _days_of(day, companies))


def _companies(day: CentreDay) -> list[UUID]:
    """The companies that count by a day: its own, or all."""
    if day.organisation_id is not None:
        return [day.organisation_id]
    return list(Organisation.objects.order_by().values_list("pk", flat=True))


def _days_of(day: CentreDay, companies: list[UUID]) -> DaysOf:
    """The days of the jurisdiction as each company knows them now."""
    return own_days_of((day.code, company) for company in companies)


def _ask_for_reviews(day: CentreDay, before: DaysOf, after: DaysOf) -> int:
    """Ask for a review of each ticket still of use that the change dates otherwise; the number of them."""
    asked, settled = [], []
    for ticket in _touched(day):
        place = (day.code, ticket.job.organisation_id)
        call = Call(
            kind=ticket.ticket_kind,
            called_at=ticket.called_at,
            time_zone=ticket.job.time_zone,
            start_at=ticket.wanted_start_at,
        )
        now = work_out(ticket.dates_rule, call, own_days=after[place])
        if _moments(now) == _moments(work_out(ticket.dates_rule, call, own_days=before[place])):
            continue
        if _moments(now) == _moments(ticket.computed_dates):
            settled.append(ticket.pk)
        else:
            asked.append(DayReview(ticket=ticket, centre_day=day, asked_at=timezone.now()))
    DayReview.objects.filter(ticket__in=settled).delete()
    DayReview.objects.bulk_create(
        asked, update_conflicts=True, unique_fields=["ticket"], update_fields=["centre_day", "asked_at"]
    )
    return len(asked)


def _touched(day: CentreDay) -> list[Ticket]:
    """Tickets still of use that a rule of the jurisdiction has dated, called before the day was over."""
    over = datetime.combine(day.day + timedelta(days=1), time(0), tzinfo=timezone.get_default_timezone())
    jobs = Job.objects.filter(jurisdiction__code=day.code)
    if day.organisation_id is not None:
        jobs = jobs.filter(organisation=day.organisation_id)
    return list(
        Ticket.objects.of_use(timezone.now())
        .filter(job__in=jobs, called_at__lt=over + _FAR_ZONE)
        .select_related("job", "dates_rule")
    )


def _moments(worked: Worked) -> list[datetime | None]:
    return [computed_at(worked, name) for name in DATES]
