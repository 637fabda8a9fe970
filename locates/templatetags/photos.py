"""The photos of records, for any page that shows the records."""

from collections.abc import Iterable
from uuid import UUID

from django import template
from django.db import models

from locates.models import Photo
from locates.photographed import photos_address

register = template.Library()

Sets = dict[UUID, list[Photo]]


@register.simple_tag
def photo_sets(records: Iterable[models.Model], *others: models.Model) -> Sets:
    """Photos of each of several records, read at once and without their bytes."""
    listed = [*records, *others]
    sets: Sets = {record.pk: [] for record in listed}
    for photo in Photo.objects.of_all(listed):
        sets[photo.subject_id].append(photo)
    return sets


@register.simple_tag
def photos_page(record: models.Model) -> str:
    """The page on which photos of a record are added; nothing where its kind has none."""
    return photos_address(record)


@register.simple_tag
def photos_of(record: models.Model, sets: Sets | None = None) -> list[Photo]:
    """Photos of one record; out of `photo_sets` where a list asks for many."""
    return list(Photo.objects.of(record)) if sets is None else sets.get(record.pk, [])
