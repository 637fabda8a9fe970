"""Record that a pass was watched at a crossing, or that it was not seen."""

from collections.abc import Callable, Collection
from datetime import datetime
from typing import TypeVar
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from conflicts.checks import Assessed
from conflicts.crossings import FoundCrossing
from conflicts.desk.signed_before import after_what_was_signed
from conflicts.errors import WatchAskedError, WatchError
from conflicts.gather import gather
from conflicts.models import Bore, CameraInspection, CrossingWatch
from conflicts.models.signed import SignedRecord, name_of
from conflicts.recently_computed import computed
from conflicts.sentences import station_words
from conflicts.to_watch import ToWatch, crossings_to_watch, place_of_watch, same_place_m
from conflicts.watch_matching import CrossingPlace
from conflicts.watch_oddities import short_by_log, watch_oddities
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError

KeepPhotos = Callable[[SignedRecord], object]
Signed = TypeVar("Signed", CrossingWatch, CameraInspection)


def of_crossing(watch: CrossingWatch, lies: ToWatch) -> CrossingWatch:
    """Fill a watch with its crossing: line, place, what is required of it, the hole's bottom."""
    watch.mark_id = UUID(lies.mark_id)
    watch.kind = lies.kind
    watch.station_m = lies.station_m
    watch.required_m = lies.required_m
    watch.hole_bottom_m = lies.hole_bottom_m
    return watch


def record_watch(
    watch: CrossingWatch,
    *,
    by: AbstractBaseUser,
    at: datetime | None = None,
    keep_photos: KeepPhotos | None = None,
    confirmed: Collection[str] = (),
) -> CrossingWatch:
    """Store a watch of a crossing, with photos and entry; one sent twice is stored once.

    The watch names its crossing by line, kind and station as they were shown to whoever watched. What is
    required there, and all else of the crossing, is read once the job is held, as it lies now, or as the
    last release named it. ``confirmed`` are the tokens of the questions that were answered with "it is so";
    they are kept with the record.

    Raises `WatchAskedError` where the records do not allow it and that was not confirmed,
    `WatchError` where no crossing is that one and none was released there, `EngineError` where the bore
    cannot be computed, `RetiredMeanwhileError` where the job or the bore is retired, and what
    ``keep_photos`` raises.
    """

    def fill() -> None:
        watch.watched_by, watch.watched_by_name = by, name_of(by)
        watch.watched_at = at or after_what_was_signed(watch.bore)
        lies, assessed, crossing = _as_it_lies(watch)
        of_crossing(watch, lies)
        asked = watch_oddities(assessed.scene, crossing, watch.gap_m, watch.head_depth_m)
        short = short_by_log(assessed, lies, watch.pass_made) if watch.seen else None
        asked = asked if short is None else (*asked, short)
        if not {one.token for one in asked} <= set(confirmed):
            raise WatchAskedError(asked)
        watch.confirmed = [one.kept for one in asked] or None

    return _stored(watch, by, keep_photos, fill)


def _as_it_lies(watch: CrossingWatch) -> tuple[ToWatch, Assessed, FoundCrossing | None]:
    """What is to be watched, the assessment, and the crossing of it; None where that is gone."""
    inputs = gather([watch.bore_id])[watch.bore_id]
    assessed = computed(inputs).at(watch.watched_at, inputs.site)
    shown = CrossingPlace(str(watch.mark_id), watch.kind, watch.station_m)
    lying = crossings_to_watch(assessed)
    place = place_of_watch(shown, lying, same_place_m(assessed))
    if place is None:
        where = station_words(watch.station_m, inputs.job.show_units)
        raise WatchError(
            f"The crossing at {where} is no longer there as it was shown: the line or the bore was surveyed "
            "anew. Nothing is signed; open the crossing watch again, and enter it where it belongs."
        )
    return lying[place], assessed, lying[place].found


def record_camera(
    inspection: CameraInspection, *, by: AbstractBaseUser, keep_photos: KeepPhotos | None = None
) -> CameraInspection:
    """Store a camera inspection, its photos and its entry; the same one sent twice is stored once.

    Raises as `record_watch`.
    """

    def fill() -> None:
        inspection.recorded_by, inspection.recorded_by_name = by, name_of(by)

    return _stored(inspection, by, keep_photos, fill)


def _stored(
    record: Signed, by: AbstractBaseUser, keep_photos: KeepPhotos | None, fill: Callable[[], None]
) -> Signed:
    with transaction.atomic():
        hold_job(record.home_job_id)
        there = type(record).objects.filter(pk=record.pk, bore=record.bore_id).first()
        if there is not None:
            return there
        if not Bore.objects.filter(pk=record.bore_id).exists():
            raise RetiredMeanwhileError(named(record.bore))
        fill()
        record.save(force_insert=True)
        if keep_photos is not None:
            keep_photos(record)
        job_changed(record.home_job_id)
        enter(record, by=by)
    return record
