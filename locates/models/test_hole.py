"""Small vacuum-excavated holes that expose a line."""

from uuid import uuid4

from django.contrib.gis.db import models
from django.db.models import Q

from locates.models.bounds import finite, not_negative, on_the_globe, positive, written
from locates.models.job import Job
from locates.models.mark import Mark
from locates.models.retirable import LiveManager, Retirable, once_among_live
from locates.models.same_job import refuse_other_jobs
from locates.models.ticket import Ticket


class TestHoleQuerySet(models.QuerySet["TestHole"]):
    """Sets of test holes."""

    def of_no_mark(self) -> "TestHoleQuerySet":
        """Holes that found a line which nobody marked."""
        return self.filter(found=True, mark__isnull=True)

    def missed(self) -> "TestHoleQuerySet":
        """Holes that found nothing where a mark says a line is."""
        return self.filter(found=False, mark__isnull=False)


class TestHole(Retirable):
    """A test hole (pothole): what it found, how deep, when, and who measured how."""

    # Not a test class, whatever its name says to pytest.
    __test__ = False

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="test_holes")
    ref = models.CharField("reference", max_length=200)
    mark = models.ForeignKey(
        Mark, on_delete=models.SET_NULL, null=True, blank=True, related_name="test_holes"
    )
    found = models.BooleanField(help_text="The hole exposed a line.")
    depth_to_top_m = models.FloatField("depth to top of the line (m)", null=True, blank=True)
    dug_depth_m = models.FloatField("depth dug (m)", null=True, blank=True)
    outside_width_m = models.FloatField("outside width (m)", null=True, blank=True)
    outside_height_m = models.FloatField("outside height (m)", null=True, blank=True)
    ground_elevation_m = models.FloatField("ground elevation at the hole (m)", null=True, blank=True)
    material = models.CharField(blank=True)
    measured_at = models.DateTimeField()
    measured_by = models.CharField(blank=True)
    measured_how = models.CharField(blank=True)
    error_m = models.FloatField("error of the measurement (m)", null=True, blank=True)
    is_open = models.BooleanField("open, not restored", null=True, blank=True)
    ticket = models.ForeignKey(
        Ticket, on_delete=models.SET_NULL, null=True, blank=True, related_name="test_holes"
    )
    position = models.PointField(srid=4326)

    objects = LiveManager.from_queryset(TestHoleQuerySet)()
    with_retired = TestHoleQuerySet.as_manager()

    class Meta:
        """How test holes are ordered and bounded."""

        ordering = ("job_id", "ref")
        constraints = (
            once_among_live(
                "job",
                "ref",
                name="test_hole_ref_once",
                accepted="ref: accepted is a reference that no other test hole has.",
            ),
            *written("test_hole", "ref"),
            models.CheckConstraint(
                condition=Q(found=False) | Q(depth_to_top_m__isnull=False),
                name="test_hole_found_has_depth_to_top_m",
                violation_error_message="depth_to_top_m: accepted is a depth wherever the hole found a line.",
            ),
            models.CheckConstraint(
                condition=Q(found=True) | Q(dug_depth_m__isnull=False),
                name="test_hole_not_found_has_dug_depth_m",
                violation_error_message="dug_depth_m: accepted is a depth wherever the hole found no line.",
            ),
            *not_negative("test_hole", "depth_to_top_m", "dug_depth_m", "error_m"),
            *positive("test_hole", "outside_width_m", "outside_height_m"),
            *finite("test_hole", "ground_elevation_m"),
            on_the_globe("test_hole", "position"),
        )

    def __str__(self) -> str:
        """Reference and what it found."""
        return f"{self.ref} ({'found' if self.found else 'nothing found'})"

    def clean(self) -> None:
        """Refuse what belongs to another job."""
        refuse_other_jobs(self, self.job_id, "mark", "ticket")
