"""Surveyed heights of the ground."""

from uuid import uuid4

from django.contrib.gis.db import models

from locates.models.bounds import finite, on_the_globe
from locates.models.job import Job
from locates.models.retirable import Retirable


class GroundPoint(Retirable):
    """A surveyed point of the ground, relative to the job's datum."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="ground_points")
    elevation_m = models.FloatField("elevation (m)")
    position = models.PointField(srid=4326)

    class Meta:
        """How ground points are ordered and bounded."""

        ordering = ("job_id", "id")
        constraints = (
            *finite("ground_point", "elevation_m"),
            on_the_globe("ground_point", "position"),
        )

    def __str__(self) -> str:
        """Elevation."""
        return f"ground at {self.elevation_m} m"
