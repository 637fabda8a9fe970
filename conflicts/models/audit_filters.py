"""What an audit looks for, and how each kind of record is narrowed to it."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import DateField, F, Func, Q, QuerySet, Subquery
from django.db.models.functions import Cast

from conflicts.models.chosen_rows import NOBODY, chosen_sql
from locates.models import Job, Mark, RecordEvent

# Whether what is named {one} is of the line looked for: by what it was called then, or by what its mark is or
# was called.
OF_LINE = """(%(mark_ref)s = '' OR lower({one}.mark_ref) = lower(%(mark_ref)s)
    OR {one}.mark_id IN (SELECT id FROM called))"""


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


def of_mark(filters: AuditFilters, mark: str) -> Q:
    """Records whose mark's key, at a path, is of a line that has or ever had the reference looked for."""
    if not filters.mark_ref:
        return Q()
    once = Q(**{f"{mark}__in": once_called(filters).values("record_id")})
    return once | Q(**{f"{mark}__in": marks_called(filters).values("pk")})


def marks_called(filters: AuditFilters) -> QuerySet[Mark]:
    """Marks of the company that have the reference looked for, or had it once.

    A signed record names its line as it was called then; whoever knows one of the names is to find all.
    """
    once = Q(pk__in=once_called(filters).values("record_id"))
    return Mark.with_retired.filter(
        once | Q(ref__iexact=filters.mark_ref), job__organisation_id=filters.company
    )


def called_sql(filters: AuditFilters) -> tuple[str, dict[str, Any]]:
    """The select of those marks that a statement with `OF_LINE` needs as ``called``, and its parameters."""
    found, values = chosen_sql(marks_called(filters), "called") if filters.mark_ref else (NOBODY, {})
    return found, {"mark_ref": filters.mark_ref, **values}


def once_called(filters: AuditFilters) -> QuerySet[RecordEvent]:
    """Changes of marks of the company's jobs with the reference looked for on either side."""
    jobs = Job.with_retired.filter(organisation_id=filters.company)
    return RecordEvent.objects.order_by().filter(
        Q(before__ref__iexact=filters.mark_ref) | Q(after__ref__iexact=filters.mark_ref),
        job_id__in=jobs.values("pk"),
        table_name=Mark._meta.db_table,
    )


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
