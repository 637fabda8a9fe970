"""Of which records photos are added on a page of their own, and what a photo's page calls its record."""

from dataclasses import dataclass

from django.apps import apps
from django.db import models
from django.urls import NoReverseMatch, reverse

from locates.models import Mark, Photo, SurfaceFeature, TestHole
from locates.models.retirable import Retirable


@dataclass(frozen=True, slots=True)
class Photographed:
    """A kind of record that people photograph, and the section of the job's page that shows it."""

    model: type[Retirable]
    section: str


PHOTOGRAPHED = {
    "test-hole": Photographed(TestHole, "test-holes"),
    "mark": Photographed(Mark, "marks"),
    "surface-feature": Photographed(SurfaceFeature, "surface-features"),
}


def photos_address(record: models.Model) -> str:
    """The page on which photos of a record are added; nothing where its kind has none."""
    for kind, photographed in PHOTOGRAPHED.items():
        if isinstance(record, photographed.model):
            return reverse("locates:photo-add", args=[kind, record.pk])
    return ""


def kind_of(record: models.Model) -> str:
    """What stands before a record's own words; nothing before those that begin with their kind."""
    return str(record._meta.verbose_name) if photos_address(record) else ""


def subject_of(photo: Photo) -> models.Model | None:
    """The record that a photo shows, a retired one too; None where this program does not know its kind."""
    try:
        model = apps.get_model(photo.subject_model)
    except (LookupError, ValueError):
        return None
    return model._base_manager.filter(pk=photo.subject_id).first()


def address_of(record: models.Model) -> str:
    """Where a record is shown: its own page, or that of its photos; nothing where it has neither."""
    own = getattr(record, "get_absolute_url", None)
    try:
        return own() if own else photos_address(record)
    except NoReverseMatch:
        return ""
