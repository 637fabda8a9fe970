"""The pits at the ends of a bore."""

from uuid import UUID, uuid4

from django.contrib.gis.db import models

from conflicts.models.bore import Bore
from locates.models.bounds import not_negative, on_the_globe, one_of, sound_area
from locates.models.retirable import Retirable, once_among_live


class PitEnd(models.TextChoices):
    """Which end of the bore a pit stands at."""

    ENTRY = "entry", "entry"
    EXIT = "exit", "exit"


class Pit(Retirable):
    """A pit at an end of a bore."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    bore = models.ForeignKey(Bore, on_delete=models.CASCADE, related_name="pits")
    end = models.CharField(max_length=10, choices=PitEnd)
    depth_m = models.FloatField("depth (m)", null=True, blank=True)
    area = models.PolygonField(srid=4326)

    class Meta:
        """How pits are ordered and bounded."""

        ordering = ("bore_id", "end")
        constraints = (
            once_among_live(
                "bore",
                "end",
                name="pit_end_once",
                accepted="end: accepted is one pit at each end of a bore.",
            ),
            one_of("pit", "end", PitEnd),
            *not_negative("pit", "depth_m"),
            on_the_globe("pit", "area"),
            sound_area("pit", "area"),
        )

    def __str__(self) -> str:
        """Which end of which bore."""
        return f"{self.get_end_display()} pit of {self.bore}"

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.bore.job_id
