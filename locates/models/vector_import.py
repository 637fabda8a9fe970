"""Files of surveyed things on their way into a job."""

from datetime import datetime, timedelta
from uuid import uuid4

from django.conf import settings
from django.db import models

from locates.models.bounds import one_of
from locates.models.job import Job

KEPT_FOR = timedelta(hours=24)
MOST_A_PERSON = 10


class ImportKind(models.TextChoices):
    """The kinds of record that files carry: surveyed things, and what the ticket desk enters in bulk."""

    MARK = "mark", "marks"
    TEST_HOLE = "test_hole", "test holes"
    GROUND_POINT = "ground_point", "ground points"
    LINEWORK = "linework", "linework"
    TICKET = "ticket", "tickets"
    RESPONSE = "response", "responses"


class VectorImportQuerySet(models.QuerySet["VectorImport"]):
    """Sets of imports."""

    def alive(self, at: datetime) -> "VectorImportQuerySet":
        """Those that may still be worked on."""
        return self.filter(expires_at__gt=at)

    def sweep(self, at: datetime) -> int:
        """Delete what has expired, and give how many."""
        count, _ = self.filter(expires_at__lte=at).delete()
        return count


class VectorImport(models.Model):
    """A file that a person uploaded, as it was read, with what that person has confirmed of it so far.

    What is kept is what the file held, not its bytes: nothing opens it a second time. Once it is stored, the
    content goes at once and the rest when it expires.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="vector_imports")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=20, choices=ImportKind)
    file_name = models.CharField(max_length=200)
    content = models.BinaryField(help_text="Tables as locates.exchange.vector_table packs them.")
    mapping = models.JSONField(default=dict, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField(db_index=True)
    stored_at = models.DateTimeField(null=True, blank=True)
    stored_count = models.PositiveIntegerField(null=True, blank=True)

    objects = VectorImportQuerySet.as_manager()

    class Meta:
        """How imports are ordered and bounded."""

        ordering = ("-created_at",)
        constraints = (
            one_of("vector_import", "kind", ImportKind),
            models.CheckConstraint(
                condition=models.Q(stored_at=None, stored_count=None)
                | models.Q(stored_at__isnull=False, stored_count__isnull=False),
                name="vector_import_stored_is_counted",
                violation_error_message="stored_count: accepted is a number once the import is stored.",
            ),
        )

    def __str__(self) -> str:
        """File and kind."""
        return f"{self.file_name} ({self.get_kind_display()})"
