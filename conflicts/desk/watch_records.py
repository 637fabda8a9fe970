"""Watches and camera inspections as they were signed, the last first, for the pages that list them."""

from django.db.models import QuerySet

from conflicts.checks import Assessed
from conflicts.models import Bore, CameraInspection, CrossingWatch
from conflicts.to_watch import crossings_to_watch, place_of_watch, same_place_m
from conflicts.watch_matching import CrossingPlace


def watches_of(bore: Bore) -> QuerySet[CrossingWatch]:
    """Every watch of a bore, with its line."""
    return (
        CrossingWatch.objects.filter(bore=bore)
        .select_related("mark")
        .order_by("-watched_at", "-entered_at", "-id")
    )


def watches_at(bore: Bore, assessed: Assessed, place: int) -> list[CrossingWatch]:
    """Those that belong to one of its present crossings, by its place along the bore, from 0."""
    lying, near_m = crossings_to_watch(assessed), same_place_m(assessed)
    found = watches_of(bore).filter(mark=lying[place].mark_id)
    placed = ((one, CrossingPlace(str(one.mark_id), one.kind, one.station_m)) for one in found)
    return [one for one, watched in placed if place_of_watch(watched, lying, near_m) == place]


def cameras_of(bore: Bore) -> QuerySet[CameraInspection]:
    """Every camera inspection of the lines that a bore meets, with its line."""
    return (
        CameraInspection.objects.filter(bore=bore)
        .select_related("mark")
        .order_by("-inspected_at", "-entered_at", "-id")
    )
