"""Enter what was signed into the chain."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import connection
from django.db.transaction import TransactionManagementError

from locates.canonical import BEFORE_THE_FIRST, canonical_text, digest_of
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
    last = LedgerEntry.objects.order_by("-sequence").only("sequence", "entry_sha256").first()
    entry = LedgerEntry(
        sequence=last.sequence + 1 if last else 1,
        kind=record.LEDGER_KIND,
        record_id=stored.pk,
        job_id=stored.home_job_id,
        content=content,
        content_sha256=digest_of(content),
        previous_sha256=last.entry_sha256 if last else BEFORE_THE_FIRST,
        entered_at=entered_at,
        entered_by=by,
    )
    entry.entry_sha256 = entry.own_digest()
    entry.save(force_insert=True)
    return entry
