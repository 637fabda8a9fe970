"""The chain's head and the entries of some records, for a clearance record; two queries."""

from collections.abc import Collection
from uuid import UUID

from conflicts.record.sheet import RecordChain, RecordEntry
from locates.models import LedgerEntry


def read_chain(record_ids: Collection[UUID]) -> RecordChain:
    """Where the chain stands, and the entries of records in their order."""
    head = LedgerEntry.objects.head()
    entries = LedgerEntry.objects.filter(record_id__in=record_ids).select_related("entered_by")
    return RecordChain(head.sequence, head.entry_sha256, tuple(map(_entry, entries.order_by("sequence"))))


def _entry(entry: LedgerEntry) -> RecordEntry:
    return RecordEntry(
        sequence=entry.sequence,
        kind=entry.kind,
        record_id=str(entry.record_id),
        entered_at=entry.entered_at,
        entered_by=entry.entered_by.get_full_name() or entry.entered_by.get_username(),
        content_sha256=entry.content_sha256,
        entry_sha256=entry.entry_sha256,
    )
