"""What was logged and signed of a bore, counted in words: it stays in the record when the bore is retired."""

from django.db.models import CharField, Count, QuerySet, Value

from conflicts.models import (
    Bore,
    CameraInspection,
    CloseOut,
    CrossingWatch,
    DailyWalk,
    DamageReport,
    DrilledRod,
    HolePass,
    LocatorCheck,
    Release,
    Variance,
)

# Each kind that names a bore, as one and as more of them.
WORDS = (
    (Release, "release", "releases"),
    (DailyWalk, "daily walk", "daily walks"),
    (LocatorCheck, "check of the locator", "checks of the locator"),
    (DrilledRod, "rod", "rods"),
    (HolePass, "pass of a reamer or pullback", "passes of reamers and pullbacks"),
    (CrossingWatch, "watch of a crossing", "watches of crossings"),
    (CameraInspection, "camera inspection", "camera inspections"),
    (Variance, "variance", "variances"),
    (DamageReport, "report of damage", "reports of damage"),
    (CloseOut, "close-out", "close-outs"),
)


def stays_on_record(bore: Bore) -> list[str]:
    """Each kind of which something was logged or signed of a bore, with how many: "4 rods".

    In one query. Also what was withdrawn, ended or pulled back since is counted, for it stays too. Reports of
    damage of the job as a whole are not the bore's.

    Parameters
    ----------
    bore : Bore
    """
    first, *others = (_counted(kind, bore) for kind, _, _ in WORDS)
    counts = dict(first.union(*others, all=True))
    told = ((counts.get(kind._meta.label, 0), one, many) for kind, one, many in WORDS)
    return [f"{count} {one if count == 1 else many}" for count, one, many in told if count]


def _counted(kind: type, bore: Bore) -> QuerySet:
    """A row with the name of the kind and how many of the bore there are; none where there are none."""
    named = Value(kind._meta.label, output_field=CharField())
    rows = kind.objects.filter(bore=bore).order_by().annotate(kind_label=named)
    return rows.values("kind_label").annotate(count=Count("pk")).values_list("kind_label", "count")
