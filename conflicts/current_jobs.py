"""Which jobs still have something to drill, as far as their planned dates tell."""

from datetime import datetime

from django.db.models import Exists, F, OuterRef, QuerySet, Subquery

from conflicts.models import Bore
from conflicts.needs_today import LATE
from locates.models import Job


def current_jobs(at: datetime, viewer_id: int | None) -> QuerySet[Job]:
    """Jobs of a person's company with a bore that is not past, or none yet, the next start first."""
    bores = Bore.objects.filter(job=OuterRef("pk"))
    to_come = bores.not_past(at - LATE)
    return (
        Job.objects.seen_by(viewer_id)
        .filter(~Exists(bores) | Exists(to_come))
        .annotate(first_start_at=Subquery(to_come.by_start().values("planned_start_at")[:1]))
        .order_by(F("first_start_at").asc(nulls_last=True), "-changed_at", "name")
    )


def past_jobs(at: datetime, viewer_id: int | None) -> QuerySet[Job]:
    """Jobs of a person's company of which every bore is past, those changed last first."""
    bores = Bore.objects.filter(job=OuterRef("pk"))
    past = Job.objects.seen_by(viewer_id).filter(Exists(bores), ~Exists(bores.not_past(at - LATE)))
    return past.order_by("-changed_at", "name")
