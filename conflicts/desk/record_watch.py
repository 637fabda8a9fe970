"""Record that a pass was watched at a crossing, or that it was not seen."""

from collections.abc import Callable
from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from conflicts.crossings import FoundCrossing
from conflicts.inputs import TestHoleInput
from conflicts.models import Bore, CameraInspection, CrossingWatch
from conflicts.models.signed import SignedRecord, name_of
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError

KeepPhotos = Callable[[SignedRecord], object]


def of_crossing(watch: CrossingWatch, one: FoundCrossing) -> CrossingWatch:
    """Fill a watch with its crossing as it lies now: line, place, what is required, the hole's bottom."""
    watch.mark_id = UUID(one.mark.mark_id)
    watch.kind = one.clearance.kind
    watch.station_m = one.clearance.station_m
    watch.required_m = one.required_m
    watch.hole_bottom_m = bottom_of(one.exposing_holes)
    return watch


def bottom_of(holes: tuple[TestHoleInput, ...]) -> float | None:
    """Depth of the deepest of the open holes at a crossing, m; None where nobody recorded how deep one is."""
    depths = [hole.dug_depth_m for hole in holes if hole.is_open and hole.dug_depth_m is not None]
    return max(depths, default=None)


def record_watch(
    watch: CrossingWatch,
    *,
    by: AbstractBaseUser,
    at: datetime | None = None,
    keep_photos: KeepPhotos | None = None,
) -> CrossingWatch:
    """Store a watch that `of_crossing` filled, with photos and entry; one sent twice is stored once.

    Raises `RetiredMeanwhileError` where the job or the bore is retired, and what ``keep_photos`` raises.
    """
    watch.watched_by, watch.watched_by_name = by, name_of(by)
    watch.watched_at = at or timezone.now()
    return _stored(watch, by, keep_photos)


def record_camera(
    inspection: CameraInspection, *, by: AbstractBaseUser, keep_photos: KeepPhotos | None = None
) -> CameraInspection:
    """Store a camera inspection, its photos and its entry; the same one sent twice is stored once.

    Raises as `record_watch`.
    """
    inspection.recorded_by, inspection.recorded_by_name = by, name_of(by)
    return _stored(inspection, by, keep_photos)


def _stored(record: SignedRecord, by: AbstractBaseUser, keep_photos: KeepPhotos | None) -> SignedRecord:
    with transaction.atomic():
        hold_job(record.home_job_id)
        there = type(record).objects.filter(pk=record.pk, bore=record.bore_id).first()
        if there is not None:
            return there
        if not Bore.objects.filter(pk=record.bore_id).exists():
            raise RetiredMeanwhileError(named(record.bore))
        record.save(force_insert=True)
        if keep_photos is not None:
            keep_photos(record)
        job_changed(record.home_job_id)
        enter(record, by=by)
    return record
