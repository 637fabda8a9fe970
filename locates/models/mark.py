"""Painted lines."""

from uuid import uuid4

from django.contrib.gis.db import models
from django.contrib.postgres.indexes import GistIndex
from django.db.models import F, Func

from locates.models.bounds import in_order, not_negative, on_the_globe, one_of, positive, shape_is, written
from locates.models.facility import FacilityType
from locates.models.facility_operator import FacilityOperator
from locates.models.job import Job
from locates.models.retirable import Retirable, once_among_live
from locates.models.same_job import refuse_other_jobs
from locates.models.ticket import Ticket


class Mark(Retirable):
    """A painted line, or a single painted point, as surveyed or drawn on the map.

    The stated depth is hearsay: it never makes a crossing clear.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="marks")
    ref = models.CharField("reference", max_length=200)
    operator = models.ForeignKey(FacilityOperator, on_delete=models.RESTRICT, related_name="marks")
    facility_type = models.CharField(max_length=20, choices=FacilityType)
    marked_at = models.DateTimeField()
    ticket = models.ForeignKey(Ticket, on_delete=models.SET_NULL, null=True, blank=True, related_name="marks")
    stated_width_m = models.FloatField("stated width (m)", null=True, blank=True)
    stated_height_m = models.FloatField("stated height (m)", null=True, blank=True)
    stated_depth_m = models.FloatField("stated depth, hearsay (m)", null=True, blank=True)
    horizontal_accuracy_m = models.FloatField("stated accuracy in plan (m)", null=True, blank=True)
    located_by = models.CharField(blank=True, help_text="Who located the line, and how.")
    is_intact = models.BooleanField("still there", null=True, blank=True)
    re_marked_at = models.DateTimeField(null=True, blank=True)
    geometry = models.GeometryField("painted line or point", srid=4326)

    class Meta:
        """How marks are ordered, found and bounded."""

        ordering = ("job_id", "ref")
        indexes = (
            # Candidates are searched with ST_DWithin in metres, which only an index on the geography serves.
            # The function is what "::geography" calls; a cast to a type with an SRID is another expression.
            GistIndex(Func(F("geometry"), function="geography"), name="mark_geography"),
        )
        constraints = (
            once_among_live(
                "job",
                "ref",
                name="mark_ref_once",
                accepted="ref: accepted is a reference that no other mark of the job has.",
            ),
            *written("mark", "ref"),
            one_of("mark", "facility_type", FacilityType),
            *positive("mark", "stated_width_m", "stated_height_m"),
            *not_negative("mark", "stated_depth_m", "horizontal_accuracy_m"),
            in_order("mark", "marked_at", "re_marked_at"),
            shape_is("mark", "geometry", "LineString", "Point"),
            on_the_globe("mark", "geometry"),
        )

    def __str__(self) -> str:
        """Reference, type and operator."""
        return f"{self.ref} ({self.get_facility_type_display()}, {self.operator})"

    def clean(self) -> None:
        """Refuse what belongs to another job."""
        refuse_other_jobs(self, self.job_id, "operator", "ticket")
