"""Enter what was signed into the chain."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import connection
from django.db.transaction import TransactionManagementError

from locates.canonical import canonical_text, digest_of
from locates.chain import entry_digest
from locates.models import LedgerEntry
from locates.models.ledger_entry import LOCK_KEY, LOCK_SPACE
from locates.signed_kinds import Signed, signed_kind


def enter(record: Signed, *, by: AbstractBaseUser) -> LedgerEntry:
    """Add the entry of a record that was just stored; to be called last in the transaction that stores it.

    One signer after the other: the chain's lock is held until that transaction ends, so the job's lock
    (`hold_job`) is taken before it, never after. A transaction that is undone leaves no gap. The record is
    read back, so that the entry says what is in the database and not what was meant to be.

    Raises ``TransactionManagementError`` outside a transaction, `UnknownKindError` for a kind that nobody
    registered and ``IntegrityError`` where the record has an entry.
    """
    if not connection.in_atomic_block:
        raise TransactionManagementError("An entry belongs into the transaction that stores its record.")
    stored = signed_kind(record.LEDGER_KIND).rows_of([record.pk]).get()
    content = canonical_text(stored.ledger_content())
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s, %s)", [LOCK_SPACE, LOCK_KEY])
        # The database's clock, so that all signers go by one.
        cursor.execute("SELECT clock_timestamp()")
        [entered_at] = cursor.fetchone()
    before = LedgerEntry.objects.head()
    entry = LedgerEntry(
        sequence=before.sequence + 1,
        kind=record.LEDGER_KIND,
        record_id=stored.pk,
        job_id=stored.home_job_id,
        content=content,
        content_sha256=digest_of(content),
        previous_sha256=before.entry_sha256,
        entered_at=entered_at,
        entered_by=by,
    )
    entry.entry_sha256 = entry_digest(entry)
    entry.save(force_insert=True)
    return entry
