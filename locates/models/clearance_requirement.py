"""The separations that a job demands."""

from uuid import uuid4

from django.db import models

from locates.models.bounds import not_negative, one_of
from locates.models.facility import FacilityType
from locates.models.facility_operator import FacilityOperator
from locates.models.job import Job
from locates.models.retirable import Retirable, once_among_live
from locates.models.same_job import refuse_other_jobs


class ClearanceRequirement(Retirable):
    """Least separation from a line: of an operator, of a facility type, of both, or of every line."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="requirements")
    operator = models.ForeignKey(
        FacilityOperator, on_delete=models.RESTRICT, null=True, blank=True, related_name="requirements"
    )
    facility_type = models.CharField(max_length=20, choices=FacilityType, blank=True)
    crossing_m = models.FloatField("required where crossing (m)")
    alongside_m = models.FloatField("required where alongside (m)")

    class Meta:
        """How requirements are ordered and bounded."""

        ordering = ("job_id", "operator__name", "facility_type")
        constraints = (
            once_among_live(
                "job",
                "operator",
                "facility_type",
                name="requirement_once_an_operator",
                accepted="operator: accepted is one requirement for an operator and type.",
            ),
            # Two NULLs are never equal to a plain unique constraint.
            once_among_live(
                "job",
                "facility_type",
                name="requirement_once_a_type",
                accepted="facility_type: accepted is one requirement for each facility type.",
                condition=models.Q(operator__isnull=True),
            ),
            *not_negative("requirement", "crossing_m", "alongside_m"),
            one_of("requirement", "facility_type", FacilityType, blank=True),
        )

    def __str__(self) -> str:
        """Whom and what it is for, and the two figures."""
        scope = " ".join(
            word for word in (str(self.operator or ""), self.get_facility_type_display()) if word
        )
        return f"{scope or 'every line'}: crossing {self.crossing_m} m, alongside {self.alongside_m} m"

    def clean(self) -> None:
        """Refuse what belongs to another job."""
        refuse_other_jobs(self, self.job_id, "operator")
