"""Photos of what was painted, dug, seen and done, each kept as it came."""

from collections.abc import Collection, Iterable
from functools import reduce
from operator import or_
from typing import Any, ClassVar
from uuid import UUID, uuid4

from django.conf import settings
from django.contrib.gis.db import models
from django.db.models import F, Func, Q, Value
from django.db.models.lookups import Exact

from locates.canonical import utc_text
from locates.models.bounds import not_negative, on_the_globe, one_of, written
from locates.models.job import Job
from locates.models.membership import organisation_of

LARGEST_PHOTO_BYTES = 15 * 1024 * 1024
"""Common practice, no source: a phone's photo is a third of it."""

BYTES = ("content", "thumbnail", "print_copy")
PLACE = ("position", "position_error_m", "position_from")
"""Where a photo was taken: told to whoever may open the original."""


def _digest_of(name: str) -> Func:
    return Func(
        Func(F(name), function="sha256", output_field=models.BinaryField()),
        Value("hex", output_field=models.CharField()),
        function="encode",
        output_field=models.CharField(),
    )


def _digest_is(name: str, digest: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(Exact(_digest_of(name), F(digest))),
        name=f"photo_{digest}_of_{name}",
        violation_error_message=f"{digest}: accepted is the digest of the bytes.",
    )


_OCTETS = Func(F("content"), function="octet_length", output_field=models.IntegerField())
_IS_SIZED = Q(size_bytes__gt=0, size_bytes__lte=LARGEST_PHOTO_BYTES) & Q(Exact(_OCTETS, F("size_bytes")))


class PhotoType(models.TextChoices):
    """What a photo may be, by its content."""

    JPEG = "image/jpeg", "JPEG"
    PNG = "image/png", "PNG"
    WEBP = "image/webp", "WebP"


class TakenFrom(models.TextChoices):
    """Who says when a photo was taken."""

    FILE = "file", "the file, with its offset from UTC"
    CAMERA_CLOCK = "camera_clock", "the clock of the camera, read in the time zone of the job"
    DEVICE = "device", "the phone, when it told where it is"


class PositionFrom(models.TextChoices):
    """Who says where a photo was taken."""

    FILE = "file", "the file"
    DEVICE = "device", "the phone, when somebody had it tell its place"


class PhotoQuerySet(models.QuerySet["Photo"]):
    """Sets of photos."""

    def of(self, record: models.Model) -> "PhotoQuerySet":
        """Photos of one record, the oldest first, without their bytes."""
        return self.of_each(type(record), [record.pk])

    def of_each(self, model: type[models.Model], ids: Iterable[UUID]) -> "PhotoQuerySet":
        """Photos of several records of a kind, the oldest first, without their bytes."""
        return self.filter(subject_model=model._meta.label_lower, subject_id__in=list(ids)).listed()

    def of_all(self, records: Iterable[models.Model]) -> "PhotoQuerySet":
        """Photos of several records of any kinds, the oldest first, without their bytes."""
        ids: dict[str, list[UUID]] = {}
        for record in records:
            ids.setdefault(record._meta.label_lower, []).append(record.pk)
        wanted = [Q(subject_model=label, subject_id__in=of_kind) for label, of_kind in ids.items()]
        return self.filter(reduce(or_, wanted, Q(pk__in=()))).listed()

    def listed(self) -> "PhotoQuerySet":
        """The oldest first, without their bytes: what a list shows."""
        return self.defer(*BYTES).order_by("kept_at", "id")

    def seen_by(self, person_id: int | None) -> "PhotoQuerySet":
        """Photos of the jobs of a person's company; none for whoever belongs to none."""
        return self.filter(job__organisation_id=organisation_of(person_id))


class Photo(models.Model):
    """A photo byte by byte as it came, two copies without metadata, and its facts: never changed."""

    LEDGER_KIND: ClassVar[str] = "photo"

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photos")
    subject_model = models.CharField(max_length=100, help_text="Such as locates.testhole.")
    subject_id = models.UUIDField()
    file_name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=40, choices=PhotoType)
    size_bytes = models.PositiveIntegerField()
    sha256 = models.CharField("SHA-256", max_length=64)
    content = models.BinaryField(help_text="The file as it came.")
    width_px = models.PositiveIntegerField("width (px)", help_text="As it is shown, turned upright.")
    height_px = models.PositiveIntegerField("height (px)")
    thumbnail = models.BinaryField()
    thumbnail_sha256 = models.CharField("SHA-256 of the thumbnail", max_length=64)
    thumbnail_width_px = models.PositiveIntegerField("width of the thumbnail (px)")
    thumbnail_height_px = models.PositiveIntegerField("height of the thumbnail (px)")
    print_copy = models.BinaryField()
    print_copy_sha256 = models.CharField("SHA-256 of the copy", max_length=64)
    taken_at = models.DateTimeField(null=True, blank=True)
    taken_from = models.CharField(max_length=20, choices=TakenFrom, blank=True)
    position = models.PointField(srid=4326, null=True, blank=True)
    position_error_m = models.FloatField("the position may be off by (m)", null=True, blank=True)
    position_from = models.CharField(max_length=10, choices=PositionFrom, blank=True)
    kept_at = models.DateTimeField()
    kept_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    kept_by_name = models.CharField(max_length=200, help_text="Their name as it was then.")

    objects = PhotoQuerySet.as_manager()

    class Meta:
        """How photos are ordered, found and bounded, and the right to what a camera wrote into them."""

        ordering = ("kept_at", "id")
        permissions = (("open_original_photo", "Can open original photos with all that the camera wrote"),)
        constraints = (
            models.UniqueConstraint(
                fields=("subject_model", "subject_id", "sha256"),
                name="photo_once",
                violation_error_message="sha256: accepted is a photo that the record does not have yet.",
            ),
            *written("photo", "subject_model", "file_name", "kept_by_name"),
            one_of("photo", "media_type", PhotoType),
            models.CheckConstraint(
                condition=_IS_SIZED,
                name="photo_size_bytes_counted",
                violation_error_message=(
                    "size_bytes: accepted is the number of bytes, above 0 and within the limit."
                ),
            ),
            _digest_is("content", "sha256"),
            _digest_is("thumbnail", "thumbnail_sha256"),
            _digest_is("print_copy", "print_copy_sha256"),
            *(
                models.CheckConstraint(
                    condition=Q((f"{name}__gt", 0)),
                    name=f"photo_{name}_positive",
                    violation_error_message=f"{name}: accepted is a whole number above 0.",
                )
                for name in ("width_px", "height_px", "thumbnail_width_px", "thumbnail_height_px")
            ),
            models.CheckConstraint(
                condition=Q(taken_at__isnull=True, taken_from="")
                | Q(taken_at__isnull=False, taken_from__in=TakenFrom.values),
                name="photo_taken_at_with_its_source",
                violation_error_message="taken_from: accepted is who says when, and nothing where unknown.",
            ),
            models.CheckConstraint(
                condition=Q(position__isnull=True, position_error_m__isnull=True, position_from="")
                | Q(position__isnull=False, position_from__in=PositionFrom.values),
                name="photo_position_with_its_source",
                violation_error_message="position_from: accepted is who says where, nothing where unknown.",
            ),
            *not_negative("photo", "position_error_m"),
            on_the_globe("photo", "position"),
        )

    def __str__(self) -> str:
        """File name."""
        return self.file_name

    @property
    def signer_id(self) -> Any:
        """Id of the login of whoever kept it."""
        return self.kept_by_id

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.job_id

    def ledger_content(self) -> dict[str, Any]:
        """All that the signature stands for; the bytes by their digests, both as kept and as found."""
        return {
            "id": str(self.pk),
            "job_id": str(self.job_id),
            "subject_model": self.subject_model,
            "subject_id": str(self.subject_id),
            "file_name": self.file_name,
            "media_type": self.media_type,
            "size_bytes": self.size_bytes,
            "sha256": self._digest("content", self.sha256),
            "width_px": self.width_px,
            "height_px": self.height_px,
            "thumbnail_sha256": self._digest("thumbnail", self.thumbnail_sha256),
            "thumbnail_width_px": self.thumbnail_width_px,
            "thumbnail_height_px": self.thumbnail_height_px,
            "print_copy_sha256": self._digest("print_copy", self.print_copy_sha256),
            "taken_at": None if self.taken_at is None else utc_text(self.taken_at),
            "taken_from": self.taken_from,
            "position": None if self.position is None else list(self.position.coords),
            "position_error_m": self.position_error_m,
            "position_from": self.position_from,
            "kept_at": utc_text(self.kept_at),
            "kept_by_id": self.kept_by_id,
            "kept_by_name": self.kept_by_name,
        }

    def _digest(self, name: str, kept: str) -> str:
        """A digest as it is kept, unless `photos_of_ids` found that the bytes have another."""
        found = getattr(self, f"{name}_digest", kept)
        return kept if found == kept else f"{kept} is kept, {found} found"


def photos_of_ids(ids: Collection[UUID]) -> PhotoQuerySet:
    """Photos of given ids, their bytes left in the database, which takes their digests anew."""
    digests = {f"{name}_digest": _digest_of(name) for name in BYTES}
    return Photo.objects.filter(pk__in=ids).defer(*BYTES).annotate(**digests)
