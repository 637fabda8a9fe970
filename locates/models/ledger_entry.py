"""The chain of all that was signed."""

from django.conf import settings
from django.db import models
from django.db.models import F, Func, Q, Value
from django.db.models.lookups import Exact

from locates.chain import BEGINNING, Place
from locates.models.bounds import written
from locates.models.job import Job

LOCK_SPACE, LOCK_KEY = 7716, 1
"""The advisory lock of whoever adds an entry, held until the transaction ends."""

_DIGITS = r"^[0-9a-f]{64}$"
_CONTENT_DIGEST = Func(
    Func(
        Func(F("content"), Value("UTF8"), function="convert_to", output_field=models.BinaryField()),
        function="sha256",
        output_field=models.BinaryField(),
    ),
    Value("hex", output_field=models.CharField()),
    function="encode",
    output_field=models.CharField(),
)


class LedgerEntryQuerySet(models.QuerySet["LedgerEntry"]):
    """Sets of entries."""

    def head(self) -> Place:
        """Where the chain stands now."""
        last = self.order_by("-sequence").values_list("sequence", "entry_sha256").first()
        return Place(*last) if last else BEGINNING

    def next_after(self, sequence: int | None, head: int, most: int) -> list["LedgerEntry"]:
        """Some entries in order of their numbers: those above one number, or all, and up to another."""
        above = self if sequence is None else self.filter(sequence__gt=sequence)
        return list(above.filter(sequence__lte=head).order_by("sequence")[:most])


class LedgerEntry(models.Model):
    """What one record said when it was signed, chained by digests to the entry before it."""

    sequence = models.BigIntegerField(primary_key=True, help_text="From 1 without gaps.")
    kind = models.CharField(max_length=40)
    record_id = models.UUIDField()
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="ledger_entries")
    content = models.TextField(help_text="Canonical JSON (RFC 8785) of the record.")
    content_sha256 = models.CharField("SHA-256 of the content", max_length=64)
    previous_sha256 = models.CharField("SHA-256 of the entry before", max_length=64, unique=True)
    entry_sha256 = models.CharField("SHA-256 of the entry", max_length=64, unique=True)
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = LedgerEntryQuerySet.as_manager()

    class Meta:
        """How entries are ordered and bounded."""

        ordering = ("sequence",)
        verbose_name_plural = "ledger entries"
        constraints = (
            models.UniqueConstraint(
                fields=("kind", "record_id"),
                name="ledger_entry_record_once",
                violation_error_message="record_id: accepted is a record that has no entry yet.",
            ),
            models.CheckConstraint(
                condition=Q(sequence__gte=1),
                name="ledger_entry_sequence_from_one",
                violation_error_message="sequence: accepted is a whole number from 1.",
            ),
            *written("ledger_entry", "kind"),
            models.CheckConstraint(
                condition=Q(Exact(_CONTENT_DIGEST, F("content_sha256"))),
                name="ledger_entry_content_sha256_of_content",
                violation_error_message="content_sha256: accepted is the digest of the content.",
            ),
            *(
                models.CheckConstraint(
                    condition=Q((f"{name}__regex", _DIGITS)),
                    name=f"ledger_entry_{name}_is_a_digest",
                    violation_error_message=f"{name}: accepted are 64 hexadecimal digits.",
                )
                for name in ("previous_sha256", "entry_sha256")
            ),
        )

    def __str__(self) -> str:
        """Place in the chain and kind."""
        return f"{self.sequence} {self.kind}"
