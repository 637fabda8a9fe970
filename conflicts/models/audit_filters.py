"""What an audit looks for, and how each kind of record is narrowed to it."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import DateField, F, Func, Q, QuerySet, Subquery
from django.db.models.functions import Cast


@dataclass(frozen=True)
class AuditFilters:
    """What a person looks for; empty is everything. Days are those of each job's own zone, both inclusive.

    ``company`` is no choice: the id of the one whose jobs the person may see, or a subquery that gives it.
    """

    company: UUID | Subquery
    job: str = ""
    bore: str = ""
    mark_ref: str = ""
    person: str = ""
    day_from: date | None = None
    day_to: date | None = None
    verdict: str = ""


def of_company(filters: AuditFilters, job: str) -> Q:
    """Records whose job, at a path, is the company's and has what is looked for in its name."""
    whose = Q(**{f"{job}__organisation_id": filters.company})
    return whose & Q(**{f"{job}__name__icontains": filters.job}) if filters.job else whose


def of_bore(filters: AuditFilters, bore: str) -> Q:
    """Records whose bore, at a path, has what is looked for in its name."""
    return Q(**{f"{bore}__name__icontains": filters.bore}) if filters.bore else Q()


def of_mark(filters: AuditFilters, ref: str) -> Q:
    """Records whose mark's reference, at a path, is the one looked for."""
    return Q(**{f"{ref}__iexact": filters.mark_ref}) if filters.mark_ref else Q()


def by_person(filters: AuditFilters, *names: str) -> Q:
    """Records one of whose signed names has what is looked for in it."""
    signed = Q()
    for name in names:
        signed |= Q(**{f"{name}__icontains": filters.person})
    return signed if filters.person else Q()


def within_days(
    found: QuerySet[Any], filters: AuditFilters, moment: str, time_zone: str = "bore__job__time_zone"
) -> QuerySet[Any]:
    """Records whose moment lies on one of the days, by the clock of their job."""
    if filters.day_from or filters.day_to:
        local = Func(F(time_zone), F(moment), function="timezone")
        found = found.alias(audited_on=Cast(local, DateField()))
    if filters.day_from:
        found = found.filter(audited_on__gte=filters.day_from)
    if filters.day_to:
        found = found.filter(audited_on__lte=filters.day_to)
    return found
