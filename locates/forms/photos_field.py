"""Photos on a form, and the place that a phone tells with them when somebody has it do so."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django import forms
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.gis.geos import Point
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import models, transaction

from locates.desk.keep_photo import keep_photo, read_photo
from locates.errors import JobFileError
from locates.exchange.json_reader import read_json
from locates.exchange.moments import EARLIEST_YEAR, LATEST_YEAR
from locates.exchange.photo_guard import ACCEPTED, CheckedPhoto, PhotoError
from locates.forms.files_field import MOST_AT_ONCE, FilesField
from locates.models import Photo, PhotoType
from locates.models.photo import LARGEST_PHOTO_BYTES


class PhotosField(FilesField[CheckedPhoto]):
    """Photos that may be kept, each checked by its content."""

    things = "photos"

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Photos")
        kwargs.setdefault(
            "help_text",
            f"{ACCEPTED[2:3].upper()}{ACCEPTED[3:]}s, at most {LARGEST_PHOTO_BYTES // 1024**2} MiB each and "
            f"{MOST_AT_ONCE} at once. Each is kept as it came.",
        )
        super().__init__(accept=",".join(PhotoType.values), **kwargs)

    def checked(self, upload: UploadedFile) -> CheckedPhoto:
        """One photo."""
        try:
            return read_photo(upload)
        except PhotoError as error:
            raise ValidationError(words_of(error)) from error


_FAR = 1e15  # no degree, metre or millisecond since 1970 comes near it


@dataclass(frozen=True, slots=True)
class PhoneFix:
    """Where and when a phone said that it was."""

    position: Point
    error_m: float | None
    told_at: datetime


class PhoneFixField(forms.CharField):
    """What the page's script writes when somebody taps for it; anything else tells no place."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=1000, **kwargs)

    def clean(self, value: Any) -> PhoneFix | None:
        """The fix, or None where there is none that can be."""
        text = super().clean(value)
        try:
            found = read_json(text.encode()) if text else None
        except JobFileError:
            return None
        if not isinstance(found, list) or len(found) != 4 or not all(map(_is_number, found[:2] + found[3:])):
            return None
        longitude_deg, latitude_deg, error_m, told_at_ms = found
        if abs(longitude_deg) > 180 or abs(latitude_deg) > 90:
            return None
        try:
            told_at = datetime.fromtimestamp(told_at_ms / 1000, UTC)
        except (OverflowError, ValueError, OSError):
            return None
        if not EARLIEST_YEAR <= told_at.year <= LATEST_YEAR:
            return None
        is_bounded = _is_number(error_m) and error_m >= 0
        return PhoneFix(
            Point(float(longitude_deg), float(latitude_deg), srid=4326),
            float(error_m) if is_bounded else None,
            told_at,
        )


class PhotosMixin(forms.Form):
    """A form that brings photos of what it writes; its page includes ``locates/photos_field.html``."""

    photos = PhotosField(required=False)
    photo_fix = PhoneFixField()

    def keep_photos(self, subject: models.Model, *, by: AbstractBaseUser) -> list[Photo]:
        """Store the photos of a valid form with a stored record: all of them or none.

        Raises `PhotoError` and ``RetiredMeanwhileError`` as `keep_photo` does.
        """
        fix: PhoneFix | None = self.cleaned_data.get("photo_fix")
        told = {"position": fix.position, "error_m": fix.error_m, "taken_at": fix.told_at} if fix else {}
        with transaction.atomic():
            return [keep_photo(subject, one, by=by, **told) for one in self.cleaned_data["photos"]]


class PhotosForm(PhotosMixin):
    """Photos alone."""

    photos = PhotosField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)


def words_of(error: PhotoError) -> str:
    """An error as a sentence; a file's name begins it as it is written."""
    words = str(error)
    return f"{words}." if error.name else f"{words[:1].upper()}{words[1:]}."


def _is_number(value: object) -> bool:
    # NaN fails the comparison.
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < _FAR
