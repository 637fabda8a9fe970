"""Visible evidence of buried lines."""

from uuid import uuid4

from django.contrib.gis.db import models

from locates.models.bounds import not_negative, on_the_globe, one_of, written
from locates.models.facility import FacilityType
from locates.models.job import Job
from locates.models.mark import Mark
from locates.models.retirable import Retirable, once_among_live
from locates.models.same_job import refuse_other_jobs


class SurfaceFeatureType(models.TextChoices):
    """What can be seen of a buried line."""

    VALVE = "valve", "valve"
    MANHOLE = "manhole", "manhole"
    HYDRANT = "hydrant", "hydrant"
    PEDESTAL = "pedestal", "pedestal"
    METER = "meter", "meter"
    RISER = "riser", "pole riser"
    CATCH_BASIN = "catch_basin", "catch basin"
    TRENCH_PATCH = "trench_patch", "patched trench"
    OTHER = "other", "other"


class SurfaceFeature(Retirable):
    """A valve, manhole or the like: explained by a mark, signed off with a reason, or a question."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="surface_features")
    ref = models.CharField("reference", max_length=200)
    feature_type = models.CharField(max_length=20, choices=SurfaceFeatureType)
    facility_type = models.CharField(max_length=20, choices=FacilityType)
    seen_at = models.DateTimeField(null=True, blank=True)
    explained_by_mark = models.ForeignKey(
        Mark, on_delete=models.SET_NULL, null=True, blank=True, related_name="surface_features"
    )
    signed_off_reason = models.TextField(blank=True)
    position = models.PointField(srid=4326)
    # Unknown where nobody measured it and no phone placed it.
    error_m = models.FloatField("how far the position may be off (m)", null=True, blank=True)

    class Meta:
        """How surface features are ordered and bounded."""

        ordering = ("job_id", "ref")
        constraints = (
            once_among_live(
                "job",
                "ref",
                name="surface_feature_ref_once",
                accepted="ref: accepted is a reference that no other surface feature has.",
            ),
            *written("surface_feature", "ref"),
            one_of("surface_feature", "feature_type", SurfaceFeatureType),
            one_of("surface_feature", "facility_type", FacilityType),
            on_the_globe("surface_feature", "position"),
            *not_negative("surface_feature", "error_m"),
        )

    def __str__(self) -> str:
        """Reference, what it is and what it belongs to."""
        return f"{self.ref} ({self.get_feature_type_display()}, {self.get_facility_type_display()})"

    def clean(self) -> None:
        """Refuse what belongs to another job."""
        refuse_other_jobs(self, self.job_id, "explained_by_mark")
