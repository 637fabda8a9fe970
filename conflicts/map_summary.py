"""What the map of a job or of a bore shows, in words, for whoever does not see it."""

from collections.abc import Iterable
from datetime import datetime

from django.contrib.gis.geos import Polygon
from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from conflicts.map_records import box_round, inside
from conflicts.models import Bore, DrilledRod, WithdrawalKind
from locates.models import FacilityType, Job, Mark, SurfaceFeature, TestHole, Ticket


def job_map_summary(job: Job, at: datetime, when: str = "now") -> str:
    """What lies on the map of a job; ``when`` says in words what the moment is."""
    names = list(Bore.objects.filter(job=job).order_by("name").values_list("name", flat=True))
    bores = f"{_number(len(names), 'bore')} ({', '.join(names)})" if names else "no bore"
    drilled = Bore.objects.filter(job=job, pk__in=_logged().values("bore"))
    names = list(drilled.order_by("name").values_list("name", flat=True))
    words = f" It shows too what was drilled of {_joined(names)}." if names else ""
    return f"The map shows {bores}, {_records(job, None, at, when)}.{words}"


def bore_map_summary(bore: Bore, at: datetime, when: str = "now") -> str:
    """What lies on the map round a bore; ``when`` says in words what the moment is."""
    words = " It shows too what was drilled of it." if _logged().filter(bore=bore).exists() else ""
    return f"The map shows this bore and, round it, {_records(bore.job, box_round(bore), at, when)}.{words}"


def _logged() -> QuerySet[DrilledRod]:
    """Rods that are or were in the ground."""
    return DrilledRod.objects.exclude(withdrawal__kind=WithdrawalKind.UNDO)


def _records(job: Job, box: Polygon | None, at: datetime, when: str) -> str:
    holes = inside(TestHole.objects.filter(job=job), "position", box)
    hole_counts = holes.aggregate(found=Count("pk", filter=Q(found=True)), all=Count("pk"))
    tickets = inside(Ticket.objects.filter(job=job), "area", box)
    ticket_count, in_force = tickets.count(), tickets.in_force(at).count()
    features = inside(SurfaceFeature.objects.filter(job=job), "position", box).count()
    found, missed = hole_counts["found"], hole_counts["all"] - hole_counts["found"]
    return _joined(
        [
            _marks(job, box),
            f"{_number(hole_counts['all'], 'test hole')} ({found} found a line, {missed} none)",
            _number(features, "surface feature"),
            f"the work area of {_number(ticket_count, 'ticket')} ({in_force} in force {when})",
        ]
    )


def _marks(job: Job, box: Polygon | None) -> str:
    """Marks by type, and of how many the depth is unknown."""
    marks = inside(Mark.objects.filter(job=job), "geometry", box)
    kinds = dict(marks.order_by().values_list("facility_type").annotate(Count("pk")))
    if not kinds:
        return "no mark"
    exposed = TestHole.objects.filter(mark=OuterRef("pk"), found=True)
    unknown = marks.filter(~Exists(exposed)).count()
    by_type = ", ".join(f"{kinds[kind]} {kind.label}" for kind in FacilityType if kind in kinds)
    return f"{_number(sum(kinds.values()), 'mark')} ({by_type}; depth unknown of {unknown})"


def _number(count: int, noun: str) -> str:
    return f"{count or 'no'} {noun}{'' if count == 1 else 's'}"


def _joined(parts: Iterable[str]) -> str:
    *first, last = parts
    return f"{', '.join(first)} and {last}" if first else last
