"""The photos of a bore and of its records, as a clearance record prints them; one query."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from conflicts.record.sheet import RecordPhoto
from locates.models import Job, Photo


@dataclass(frozen=True)
class Photos:
    """Photos by the record that they show, and the ids of them all."""

    by_subject: Mapping[UUID, Sequence[RecordPhoto]]
    ids: frozenset[UUID]

    def of(self, subject_id: UUID) -> tuple[RecordPhoto, ...]:
        """The photos of one record, the oldest first."""
        return tuple(self.by_subject.get(subject_id, ()))


def read_photos(job: Job, subjects: Mapping[UUID, str]) -> Photos:
    """The photos of some records.

    Parameters
    ----------
    job : Job
    subjects : mapping of UUID to str
        The records, and what each is called beside its photos.
    """
    found: dict[UUID, list[RecordPhoto]] = defaultdict(list)
    photos = Photo.objects.filter(job=job, subject_id__in=subjects).defer("content", "thumbnail")
    ids = set()
    for one in photos.order_by("kept_at", "id"):
        ids.add(one.pk)
        found[one.subject_id].append(_photo(one, subjects[one.subject_id]))
    return Photos(found, frozenset(ids))


def _photo(photo: Photo, of: str) -> RecordPhoto:
    # The record goes to outsiders, and the place of a photo is for those alone who may open its original.
    place = "" if photo.position is None else "its place is kept with the original"
    return RecordPhoto(
        of=of,
        file_name=photo.file_name,
        sha256=photo.sha256,
        taken_at=photo.taken_at,
        place=place,
        kept_at=photo.kept_at,
        kept_by=photo.kept_by_name,
        print_copy=bytes(photo.print_copy),
    )
