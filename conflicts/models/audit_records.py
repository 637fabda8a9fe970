"""The records of an audit that are rows of one table: releases, variances, edits, damage."""

from typing import Any

from django.db.models import (
    BooleanField,
    Case,
    Exists,
    F,
    Func,
    OuterRef,
    Prefetch,
    QuerySet,
    Subquery,
    TextField,
    UUIDField,
    Value,
    When,
)
from django.db.models.fields.json import KT
from django.db.models.functions import Cast, Coalesce

from conflicts.models.audit_filters import (
    AuditFilters,
    by_person,
    marks_called,
    of_bore,
    of_company,
    of_mark,
    within_days,
)
from conflicts.models.crossing_watch import CrossingWatch
from conflicts.models.damage_report import DamageReport
from conflicts.models.drilled_alone_crossing import DrilledAloneCrossing
from conflicts.models.release import Release
from conflicts.models.variance import Variance
from locates.models import Job, Mark, RecordEvent, TestHole

EDITED_TABLES = {Mark._meta.db_table: "mark", TestHole._meta.db_table: "test hole"}


class HasCrossing(Func):
    """Whether the document of a release has a crossing of a line and of a verdict; an empty one is any."""

    output_field = BooleanField()

    def __init__(self, filters: AuditFilters) -> None:
        called = Subquery(marks_called(filters).values("pk"))
        super().__init__(
            "document", "crossing_marks", called, Value(filters.mark_ref), Value(filters.verdict)
        )

    def as_sql(self, compiler: Any, connection: Any, **extra: Any) -> tuple[str, list[Any]]:
        """One look through the crossings of the document."""
        document, marks, called, ref, verdict = (
            compiler.compile(one) for one in self.get_source_expressions()
        )
        sql = (
            f"EXISTS (SELECT 1 FROM jsonb_array_elements({document[0]} -> 'crossings')"  # noqa: S608
            " WITH ORDINALITY AS c(crossing, ordinal)"
            f" WHERE ({ref[0]} = '' OR lower(c.crossing ->> 'mark_ref') = lower({ref[0]})"
            f" OR ({marks[0]} ->> (c.ordinal - 1)::integer)::uuid IN {called[0]})"
            f" AND ({verdict[0]} = '' OR c.crossing ->> 'verdict' = {verdict[0]}))"
        )
        values = [*document[1], *ref[1], *ref[1], *marks[1], *called[1]]
        return sql, [*values, *verdict[1], *verdict[1]]


def releases(filters: AuditFilters) -> QuerySet[Release]:
    """Releases with their bore, job and withdrawal, and the signed variances of their bore.

    A person is who signed one or took it back.
    """
    signed = Variance.objects.filter(signature__isnull=False).with_course()
    found = _releases(filters, "signed_by_name", "withdrawal__withdrawn_by_name")
    found = found.with_course().prefetch_related(Prefetch("bore__variances", signed))
    if filters.mark_ref or filters.verdict:
        found = found.alias(has_crossing=HasCrossing(filters)).filter(has_crossing=True)
    return found


def all_releases(filters: AuditFilters) -> QuerySet[Release]:
    """Releases, narrowed by all but what is said of single crossings; a person is who signed one."""
    return _releases(filters, "signed_by_name")


def _releases(filters: AuditFilters, *people: str) -> QuerySet[Release]:
    found = Release.objects.filter(
        of_company(filters, "bore__job"), of_bore(filters, "bore"), by_person(filters, *people)
    )
    return within_days(found, filters, "signed_at")


def all_watches(filters: AuditFilters) -> QuerySet[CrossingWatch]:
    """Watches on which the pass was seen, narrowed by all but what is said of single crossings."""
    found = CrossingWatch.objects.filter(
        of_company(filters, "bore__job"),
        of_bore(filters, "bore"),
        by_person(filters, "watched_by_name"),
        seen=True,
    )
    return within_days(found, filters, "watched_at")


def all_drilled_alone(filters: AuditFilters) -> QuerySet[DrilledAloneCrossing]:
    """Crossings of drilled holes alone, narrowed by all but what is said of single crossings."""
    found = DrilledAloneCrossing.objects.filter(
        of_company(filters, "bore__job"), of_bore(filters, "bore"), by_person(filters, "drilled_by_name")
    )
    return within_days(found, filters, "drilled_at")


def variances(filters: AuditFilters) -> QuerySet[Variance]:
    """Variances asked for, with who signed and who ended them."""
    found = Variance.objects.with_course().filter(
        of_company(filters, "bore__job"),
        of_bore(filters, "bore"),
        of_mark(filters, "mark_id"),
        by_person(filters, "requested_by_name", "signature__signed_by_name", "end__ended_by_name"),
    )
    return within_days(found, filters, "requested_at")


def edits(filters: AuditFilters) -> QuerySet[RecordEvent]:
    """What was done to marks and test holes of a job after a release of one of its bores was entered."""
    jobs = Job.with_retired.filter(pk=OuterRef("job_id"))
    released = Release.objects.filter(
        of_bore(filters, "bore"), bore__job_id=OuterRef("job_id"), last_event_id__lt=OuterRef("pk")
    )
    owned = Job.with_retired.filter(organisation_id=filters.company, name__icontains=filters.job)
    lines = {"line_before": _line("before"), "line_after": _line("after")}
    found = (
        RecordEvent.objects.alias(**lines, line=Coalesce("line_after", "line_before"))
        .filter(
            # A hole that is given to another line is taken from one and given to one.
            of_mark(filters, "line_before") | of_mark(filters, "line_after"),
            Exists(released),
            by_person(filters, "person_name"),
            job_id__in=owned.values("pk"),
            table_name__in=list(EDITED_TABLES),
        )
        .annotate(
            job_name=Subquery(jobs.values("name")),
            job_time_zone=Subquery(jobs.values("time_zone")),
            job_show_units=Subquery(jobs.values("show_units")),
            ref=Coalesce(KT("after__ref"), KT("before__ref")),
            mark_ref=_ref("after", "line"),
            mark_ref_before=_ref("before", "line_before"),
        )
    )
    return within_days(found, filters, "happened_at", "job_time_zone")


def _line(side: str) -> Case:
    """The key of the line that a change is of, on one of its sides: a mark itself, or what a hole is for."""
    own = When(table_name=Mark._meta.db_table, then=F("record_id"))
    return Case(own, default=Cast(KT(f"{side}__mark_id"), UUIDField()))


def _ref(side: str, line: str) -> Coalesce:
    """Of a mark its own reference on that side, or on the other; of a test hole that of its line."""
    own = When(table_name=Mark._meta.db_table, then=Coalesce(KT(f"{side}__ref"), "ref"))
    dug_for = Subquery(Mark.with_retired.filter(pk=OuterRef(line)).values("ref"))
    return Coalesce(Case(own, default=dug_for, output_field=TextField()), Value(""), output_field=TextField())


def damage(filters: AuditFilters) -> QuerySet[DamageReport]:
    """Damage and near misses."""
    found = DamageReport.objects.select_related("job", "bore", "mark").filter(
        of_company(filters, "job"),
        of_bore(filters, "bore"),
        of_mark(filters, "mark_id"),
        by_person(filters, "reported_by_name"),
    )
    return within_days(found, filters, "happened_at", "job__time_zone")
