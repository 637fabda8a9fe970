"""What people want to be told about."""

from django.conf import settings
from django.db import models

from locates.models.job import Job
from locates.models.membership import organisation_of
from locates.models.ticket import Ticket


class FollowQuerySet(models.QuerySet["Follow"]):
    """Sets of follows."""

    def of(self, person_id: int | None) -> "FollowQuerySet":
        """What a person follows in the company that the person belongs to."""
        ours = organisation_of(person_id)
        return self.filter(
            models.Q(job__organisation_id=ours) | models.Q(ticket__job__organisation_id=ours),
            person_id=person_id,
        )

    def with_subjects(self) -> "FollowQuerySet":
        """Those whose job or ticket is live, each with what its line names."""
        live = models.Q(ticket__isnull=True, job__retired_at__isnull=True) | models.Q(
            ticket__retired_at__isnull=True, ticket__job__retired_at__isnull=True
        )
        return self.filter(live).select_related("job", "ticket", "ticket__job")


class Follow(models.Model):
    """One person's wish to be told when a job, or one ticket, needs somebody."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="follows")
    job = models.ForeignKey(Job, on_delete=models.CASCADE, null=True, blank=True, related_name="follows")
    ticket = models.ForeignKey(
        Ticket, on_delete=models.CASCADE, null=True, blank=True, related_name="follows"
    )
    since = models.DateTimeField(auto_now_add=True)

    objects = FollowQuerySet.as_manager()

    class Meta:
        """How follows are ordered and bounded."""

        ordering = ("since", "pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(job__isnull=True, ticket__isnull=False)
                | models.Q(job__isnull=False, ticket__isnull=True),
                name="follow_job_or_ticket",
                violation_error_message="job: accepted is either a job or a ticket.",
            ),
            models.UniqueConstraint(
                fields=("person", "job"),
                name="follow_job_once",
                violation_error_message="job: accepted is a job that the person does not follow yet.",
            ),
            models.UniqueConstraint(
                fields=("person", "ticket"),
                name="follow_ticket_once",
                violation_error_message="ticket: accepted is a ticket that the person does not follow yet.",
            ),
        )

    def __str__(self) -> str:
        """Who follows what."""
        return f"{self.person} follows {self.ticket or self.job}"

    @property
    def subject_job(self) -> Job:
        """The job that is followed, or that the followed ticket belongs to."""
        return self.ticket.job if self.ticket else self.job
