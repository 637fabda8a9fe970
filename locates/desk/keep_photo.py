"""Keep a photo with the record that it shows."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.contrib.auth.models import AbstractBaseUser
from django.contrib.gis.geos import Point
from django.core.files.base import File
from django.db import models, transaction
from django.utils import timezone

from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import MomentError, RetiredMeanwhileError
from locates.exchange.photo_guard import CheckedPhoto, PhotoError, check_photo, check_photo_size
from locates.local_time import parse_local
from locates.models import Job, Photo, PositionFrom, TakenFrom
from locates.models.photo import LARGEST_PHOTO_BYTES
from locates.models.retirable import Retirable

MOST_PHOTOS = 30
"""On one record; common practice, no source."""


def keep_photo(
    subject: models.Model,
    upload: File | CheckedPhoto,
    *,
    by: AbstractBaseUser,
    taken_at: datetime | None = None,
    position: Point | None = None,
    error_m: float | None = None,
    photo_id: UUID | None = None,
) -> Photo:
    """Store a photo as it came, with its entry in the ledger; the same one sent twice is stored once.

    ``subject`` is a stored record that knows its ``home_job_id``. ``taken_at``, ``position`` and ``error_m``
    are what the device told; of when and where the file's own words come first, for a photo may be sent from
    elsewhere and later.

    Raises `PhotoError` where it is none of those accepted, too large, or one too many, and
    `RetiredMeanwhileError` where the job or the record is retired.
    """
    checked = upload if isinstance(upload, CheckedPhoto) else read_photo(upload)
    with transaction.atomic():
        hold_job(subject.home_job_id)
        _refuse_retired(subject)
        there = Photo.objects.of(subject)
        same = there.filter(models.Q(sha256=checked.sha256) | models.Q(pk=photo_id)).first()
        if same is not None:
            return same
        if there.count() >= MOST_PHOTOS:
            raise PhotoError(checked.name, f"{MOST_PHOTOS} photos here already", "a record with fewer photos")
        photo = _photo(subject, checked, by)
        photo.pk = photo_id if photo_id and not Photo.objects.filter(pk=photo_id).exists() else uuid4()
        for name, value in {
            **_moment(checked, taken_at, subject.home_job_id),
            **_place(checked, position, error_m),
        }.items():
            setattr(photo, name, value)
        photo.save(force_insert=True)
        enter(photo, by=by)
    return photo


def read_photo(upload: File) -> CheckedPhoto:
    """A photo that somebody sent, checked; `PhotoError` where it cannot be kept."""
    check_photo_size(upload.name or "", upload.size, LARGEST_PHOTO_BYTES)
    return check_photo(upload.name or "", upload.read())


def _refuse_retired(subject: models.Model) -> None:
    model = type(subject)
    if isinstance(subject, Retirable) and not model.objects.filter(pk=subject.pk).exists():
        raise RetiredMeanwhileError(named(model.with_retired.get(pk=subject.pk)))


def _photo(subject: models.Model, checked: CheckedPhoto, by: AbstractBaseUser) -> Photo:
    return Photo(
        job_id=subject.home_job_id,
        subject_model=subject._meta.label_lower,
        subject_id=subject.pk,
        file_name=checked.name,
        media_type=checked.media_type,
        size_bytes=len(checked.raw),
        sha256=checked.sha256,
        content=checked.raw,
        width_px=checked.width_px,
        height_px=checked.height_px,
        thumbnail=checked.thumbnail.raw,
        thumbnail_sha256=checked.thumbnail.sha256,
        thumbnail_width_px=checked.thumbnail.width_px,
        thumbnail_height_px=checked.thumbnail.height_px,
        print_copy=checked.print_copy.raw,
        print_copy_sha256=checked.print_copy.sha256,
        kept_at=timezone.now(),
        kept_by=by,
        kept_by_name=by.get_full_name() or by.get_username(),
    )


def _moment(checked: CheckedPhoto, told_at: datetime | None, job_id: UUID) -> dict[str, Any]:
    written = checked.camera.taken_at
    if written is not None and written.tzinfo is not None:
        return {"taken_at": written, "taken_from": TakenFrom.FILE}
    by_clock = None if written is None else _in_zone(written, Job.objects.get(pk=job_id).time_zone)
    if by_clock is not None:
        return {"taken_at": by_clock, "taken_from": TakenFrom.CAMERA_CLOCK}
    if told_at is not None:
        return {"taken_at": told_at, "taken_from": TakenFrom.DEVICE}
    return {}


def _in_zone(clock: datetime, time_zone: str) -> datetime | None:
    """The moment at which the job's clocks stood so; None where they did never or twice."""
    try:
        return parse_local(f"{clock:%Y-%m-%d %H:%M:%S}", time_zone)
    except MomentError:
        return None


def _place(checked: CheckedPhoto, told: Point | None, error_m: float | None) -> dict[str, Any]:
    camera = checked.camera
    if camera.longitude_deg is not None:
        return {
            "position": Point(camera.longitude_deg, camera.latitude_deg, srid=4326),
            "position_error_m": camera.error_m,
            "position_from": PositionFrom.FILE,
        }
    if told is not None:
        return {"position": told, "position_error_m": error_m, "position_from": PositionFrom.DEVICE}
    return {}
