"""The drawn base of the map."""

from uuid import uuid4

from django.contrib.gis.db import models

from locates.models.bounds import on_the_globe, one_of, shape_is
from locates.models.job import Job
from locates.models.retirable import Retirable


class LineworkType(models.TextChoices):
    """What a piece of the map's base shows."""

    CURB = "curb", "curb"
    EDGE_OF_PAVEMENT = "edge_of_pavement", "edge of pavement"
    SIDEWALK = "sidewalk", "sidewalk"
    BUILDING = "building", "building"
    FENCE = "fence", "fence"
    PROPERTY_LINE = "property_line", "property line"
    WATER_EDGE = "water_edge", "water's edge"
    OTHER = "other", "other"


class Linework(Retirable):
    """A curb, a building or another thing that the map is read by; it decides nothing."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="linework")
    feature_type = models.CharField(max_length=20, choices=LineworkType)
    label = models.CharField(blank=True)
    geometry = models.GeometryField("line or area", srid=4326)

    class Meta:
        """How linework is named, ordered and bounded."""

        verbose_name_plural = "linework"
        ordering = ("job_id", "feature_type", "label")
        constraints = (
            one_of("linework", "feature_type", LineworkType),
            shape_is("linework", "geometry", "LineString", "Polygon"),
            on_the_globe("linework", "geometry"),
        )

    def __str__(self) -> str:
        """What it shows, and its label."""
        return f"{self.get_feature_type_display()} {self.label}".strip()
