"""Watches and camera inspections as they were signed, the last first, for the pages that list them."""

from django.db.models import QuerySet

from conflicts.checks import Assessed
from conflicts.models import Bore, CameraInspection, CrossingWatch
from conflicts.watch_matching import CrossingPlace, crossing_of_watch
from conflicts.watch_table import crossing_places


def watches_of(bore: Bore) -> QuerySet[CrossingWatch]:
    """Every watch of a bore, with its line."""
    return (
        CrossingWatch.objects.filter(bore=bore)
        .select_related("mark")
        .order_by("-watched_at", "-entered_at", "-id")
    )


def watches_at(bore: Bore, assessed: Assessed, place: int) -> list[CrossingWatch]:
    """Those that belong to one of its present crossings, by its place along the bore, from 0."""
    present = crossing_places(assessed)
    return [
        watch
        for watch in watches_of(bore).filter(mark=present[place].mark_id)
        if crossing_of_watch(CrossingPlace(str(watch.mark_id), watch.kind, watch.station_m), present) == place
    ]


def cameras_of(bore: Bore) -> QuerySet[CameraInspection]:
    """Every camera inspection of the lines that a bore meets, with its line."""
    return (
        CameraInspection.objects.filter(bore=bore)
        .select_related("mark")
        .order_by("-inspected_at", "-entered_at", "-id")
    )
