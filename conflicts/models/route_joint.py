"""What a person says of two ends of bores: that the conduit goes on from one to the other, or does not."""

from uuid import uuid4

from django.db import models
from django.db.models import F, Q

from conflicts.models.bore import Bore
from conflicts.models.pit import PitEnd
from locates.models import Job
from locates.models.bounds import one_of
from locates.models.retirable import Retirable, once_among_live
from locates.models.same_job import refuse_other_jobs


class JointHow(models.TextChoices):
    """Through what the conduit goes from one end to the other."""

    PIT = "pit", "through one pit"
    BOX = "box", "through a box"
    TRENCH = "trench", "through an open trench"
    BORE = "bore", "end to end in the ground"
    APART = "apart", "not joined"


class RouteJoint(Retirable):
    """Two ends of bores, and whether they are joined where their places do not tell it or mislead."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="route_joints")
    first_bore = models.ForeignKey(Bore, on_delete=models.CASCADE, related_name="joints_from")
    first_end = models.CharField("its end", max_length=10, choices=PitEnd)
    second_bore = models.ForeignKey(Bore, on_delete=models.CASCADE, related_name="joints_to")
    second_end = models.CharField("its end", max_length=10, choices=PitEnd)
    how = models.CharField("how they are joined", max_length=10, choices=JointHow)
    note = models.TextField(blank=True)

    class Meta:
        """How joints are called, ordered and bounded."""

        verbose_name = "joint of the route"
        verbose_name_plural = "joints of the route"
        ordering = ("job_id", "id")
        constraints = (
            one_of("route_joint", "first_end", PitEnd),
            one_of("route_joint", "second_end", PitEnd),
            one_of("route_joint", "how", JointHow),
            models.CheckConstraint(
                condition=~Q(first_bore=F("second_bore")),
                name="route_joint_of_two_bores",
                violation_error_message="second_bore: accepted is another bore than the first.",
            ),
            once_among_live(
                "first_bore",
                "first_end",
                "second_bore",
                "second_end",
                name="route_joint_once",
                accepted="second_end: accepted are two ends of which nothing is stated yet.",
            ),
        )

    def __str__(self) -> str:
        """Which ends."""
        return f"{self.first_bore} {self.first_end} and {self.second_bore} {self.second_end}"

    def clean(self) -> None:
        """Refuse a bore of another job."""
        super().clean()
        refuse_other_jobs(self, self.job_id, "first_bore", "second_bore")
