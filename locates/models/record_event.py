"""The record of every change of a job's records, which the database keeps by itself."""

from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.db import models
from django.db.models import Q


class RecordAction(models.TextChoices):
    """What was done with a record."""

    INSERT = "insert", "added"
    UPDATE = "update", "changed"
    DELETE = "delete", "deleted"


class RecordEventQuerySet(models.QuerySet["RecordEvent"]):
    """Sets of events."""

    def of_job(self, job_id: UUID) -> "RecordEventQuerySet":
        """Events of a job's records, the last first."""
        return self.filter(job_id=job_id).order_by("-id")

    def zone_changes(self, job_ids: Collection[UUID]) -> dict[UUID, list[datetime]]:
        """When the time zone of each job was changed, in order; jobs of which it never was are left out."""
        changes = self.filter(table_name="locates_job", record_id__in=job_ids, action=RecordAction.UPDATE)
        found: dict[UUID, list[datetime]] = {}
        zones = changes.order_by("id").values_list(
            "record_id", "happened_at", "before__time_zone", "after__time_zone"
        )
        for job_id, at, before, after in zones:
            if before != after:
                found.setdefault(job_id, []).append(at)
        return found


class RecordEvent(models.Model):
    """One change of one record, written by a trigger of the database in the same transaction.

    Nobody writes it by hand and nobody changes it: the database refuses that. Person, source and job are
    kept as they were then, tied to no row that may go.
    """

    id = models.BigAutoField(primary_key=True)
    happened_at = models.DateTimeField(help_text="By the database's clock, while it was written.")
    transaction_id = models.BigIntegerField()
    transaction_began_at = models.DateTimeField(help_text="Tells two transactions of one number apart.")
    table_name = models.CharField(max_length=63)
    record_id = models.UUIDField()
    job_id = models.UUIDField(null=True, help_text="None where the record belongs to no one job.")
    action = models.CharField(max_length=10, choices=RecordAction)
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    person_id = models.BigIntegerField(null=True)
    person_name = models.TextField(blank=True)
    source = models.TextField(blank=True, help_text="Page, command or task; nothing for plain SQL.")
    database_role = models.CharField(max_length=63)

    objects = RecordEventQuerySet.as_manager()

    class Meta:
        """How events are ordered, found and bounded."""

        ordering = ("-id",)
        indexes = (
            models.Index(fields=("job_id", "id"), name="record_event_of_job"),
            models.Index(fields=("record_id", "id"), name="record_event_of_record"),
        )
        constraints = (
            models.CheckConstraint(
                condition=Q(action="insert", before__isnull=True, after__isnull=False)
                | Q(action="update", before__isnull=False, after__isnull=False)
                | Q(action="delete", before__isnull=False, after__isnull=True),
                name="record_event_action_has_its_sides",
                violation_error_message=(
                    "action: accepted is insert with an after, update with both, delete with a before."
                ),
            ),
        )

    def __str__(self) -> str:
        """What was done in which table, and when."""
        return f"{self.table_name} {self.get_action_display()} at {self.happened_at.isoformat()}"
