"""Planned bores."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import uuid4

from django.contrib.gis.db import models
from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.indexes import GistIndex
from django.db.models import F, Func

from conflicts.models.bore_bounds import BORE_CONSTRAINTS
from locates.models import Job, organisation_of
from locates.models.retirable import LiveManager, Retirable


class ProfileBy(models.TextChoices):
    """What the vertices of a profile give beside their station."""

    DEPTH = "depth", "depth"
    ELEVATION = "elevation", "elevation"


BoreGuard = Callable[["Bore"], None]
_guards: list[BoreGuard] = []


def before_bore_changes(guard: BoreGuard) -> None:
    """Register who may refuse, with a ``ValidationError``, that a stored bore is saved; twice is once."""
    if guard not in _guards:
        _guards.append(guard)


class BoreQuerySet(models.QuerySet["Bore"]):
    """Sets of bores."""

    def seen_by(self, person_id: int | None) -> "BoreQuerySet":
        """Bores of the company that a person belongs to."""
        return self.filter(job__organisation_id=organisation_of(person_id))

    def with_assessment(self) -> "BoreQuerySet":
        """Bores with their job and what was last stored of their assessment."""
        return self.select_related("job", "assessment")

    def with_close_out(self) -> "BoreQuerySet":
        """Bores with their close-out where they have one."""
        return self.select_related("close_out")

    def not_past(self, since: datetime) -> "BoreQuerySet":
        """Bores whose planned finish is not before a moment; an unknown one never is."""
        return self.exclude(planned_finish_at__lt=since)

    def by_start(self) -> "BoreQuerySet":
        """Bores in the order of their planned start, those without one last."""
        return self.order_by(F("planned_start_at").asc(nulls_last=True), "name")


def _numbers(name: str, *, null_elements: bool = False) -> ArrayField:
    element = models.FloatField(null=null_elements, blank=null_elements)
    return ArrayField(element, verbose_name=name, default=list, blank=True)


class Bore(Retirable):
    """The planned alignment in plan, its profile (by vertices or by rods), diameters, product and rig limits.

    ``alignment_length_m`` is the ground length: whoever saves a bore computes it in the ground frame.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="bores")
    name = models.CharField(max_length=200)
    alignment = models.LineStringField("alignment, entry first", srid=4326)
    alignment_length_m = models.FloatField("ground length of the alignment (m)", editable=False)
    pilot_diameter_m = models.FloatField("pilot hole diameter (m)", null=True, blank=True)
    final_diameter_m = models.FloatField("final hole diameter (m)")
    product = models.CharField(blank=True, help_text="What is pulled in.")
    ground_stations_m = _numbers("ground: stations (m)")
    ground_elevations_m = _numbers("ground: elevations (m)")
    profile_by = models.CharField(max_length=10, choices=ProfileBy, blank=True)
    profile_stations_m = _numbers("profile: stations (m)")
    profile_values_m = _numbers("profile: depths or elevations of the hole's centre (m)")
    rods_entry_elevation_m = models.FloatField("rods: elevation at entry (m)", null=True, blank=True)
    rod_lengths_m = _numbers("rods: lengths since the joint before (m)")
    rod_pitches_ratio = _numbers("rods: pitch at each joint, down is negative")
    rod_headings_rad = _numbers("rods: heading at each joint, clockwise from north", null_elements=True)
    rod_length_m = models.FloatField("rig: rod length (m)", null=True, blank=True)
    bend_radius_m = models.FloatField("rig: least bend radius (m)", null=True, blank=True)
    entry_pitch_ratio_min = models.FloatField("rig: least pitch at entry", null=True, blank=True)
    entry_pitch_ratio_max = models.FloatField("rig: greatest pitch at entry", null=True, blank=True)
    exit_pitch_ratio_min = models.FloatField("rig: least pitch at exit", null=True, blank=True)
    exit_pitch_ratio_max = models.FloatField("rig: greatest pitch at exit", null=True, blank=True)
    bit_lead_m = models.FloatField("rig: from the antenna ahead to the bit (m)", null=True, blank=True)
    minimum_cover_m = models.FloatField("rig: minimum cover (m)", null=True, blank=True)
    planned_start_at = models.DateTimeField("planned start", null=True, blank=True)
    planned_finish_at = models.DateTimeField("planned finish", null=True, blank=True)

    objects = LiveManager.from_queryset(BoreQuerySet)()
    with_retired = BoreQuerySet.as_manager()

    class Meta:
        """How bores are ordered, found and bounded."""

        ordering = ("job_id", "name")
        indexes = (
            # Candidates are searched with ST_DWithin in metres, which only an index on the geography serves.
            # The function is what "::geography" calls; a cast to a type with an SRID is another expression.
            GistIndex(Func(F("alignment"), function="geography"), name="bore_geography"),
        )
        constraints = BORE_CONSTRAINTS

    def __str__(self) -> str:
        """Name."""
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save, unless that is refused; see `before_bore_changes`."""
        if not self._state.adding:
            self.ask_guards()
        super().save(*args, **kwargs)

    def ask_guards(self) -> None:
        """Ask whether this stored bore may be saved as it is; raises ``ValidationError`` where not."""
        for guard in _guards:
            guard(self)
