"""The owners of buried lines."""

from uuid import uuid4

from django.db import models

from locates.models.bounds import written
from locates.models.job import Job
from locates.models.retirable import Retirable, once_among_live


class FacilityOperator(Retirable):
    """An owner of buried lines, as one job meets it: an emergency number belongs to a region."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="operators")
    name = models.CharField(max_length=200)
    emergency_phone = models.CharField(blank=True)
    contact = models.TextField(blank=True)

    class Meta:
        """How operators are ordered and bounded."""

        ordering = ("job_id", "name")
        constraints = (
            once_among_live(
                "job",
                "name",
                name="operator_name_once",
                accepted="name: accepted is a name that no other operator of the job has.",
            ),
            *written("operator", "name"),
        )

    def __str__(self) -> str:
        """Name."""
        return self.name
