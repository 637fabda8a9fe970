"""The chain's head and the entries of some records, for a clearance record; two queries."""

from collections.abc import Mapping, Set
from uuid import UUID

from conflicts.record.chain_sheet import RecordChain, RecordEntry, RecordLogEntry
from locates.models import LedgerEntry


def read_chain(record_ids: Set[UUID], logged: Mapping[UUID, str]) -> RecordChain:
    """Where the chain stands, and the entries of records in their order.

    Parameters
    ----------
    record_ids : set of UUID
        Records whose entries are told in full.
    logged : mapping of UUID to str
        Records whose entries are told in a line each, and what each is.
    """
    head = LedgerEntry.objects.head()
    found = LedgerEntry.objects.filter(record_id__in={*record_ids, *logged}).select_related("entered_by")
    entries = list(found.order_by("sequence"))
    return RecordChain(
        head.sequence,
        head.entry_sha256,
        tuple(_entry(one) for one in entries if one.record_id in record_ids),
        tuple(_log_entry(one, logged[one.record_id]) for one in entries if one.record_id in logged),
    )


def _entry(entry: LedgerEntry) -> RecordEntry:
    return RecordEntry(
        sequence=entry.sequence,
        kind=entry.kind,
        record_id=str(entry.record_id),
        entered_at=entry.entered_at,
        entered_by=_by(entry),
        content_sha256=entry.content_sha256,
        entry_sha256=entry.entry_sha256,
    )


def _log_entry(entry: LedgerEntry, of: str) -> RecordLogEntry:
    return RecordLogEntry(entry.sequence, of, entry.entered_at, _by(entry), entry.entry_sha256)


def _by(entry: LedgerEntry) -> str:
    return entry.entered_by.get_full_name() or entry.entered_by.get_username()
