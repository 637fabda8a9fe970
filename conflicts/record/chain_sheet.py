"""What a clearance record says of the ledger, as plain values."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class RecordEntry:
    """An entry of the ledger."""

    sequence: int
    kind: str
    record_id: str
    entered_at: datetime
    entered_by: str
    content_sha256: str
    entry_sha256: str


@dataclass(frozen=True)
class RecordLogEntry:
    """An entry of something that was logged while the hole was drilled; ``of`` says in words of what.

    They are many, so each is told in one line: by the digest that is taken of its content's digest too.
    """

    sequence: int
    of: str
    entered_at: datetime
    entered_by: str
    entry_sha256: str


@dataclass(frozen=True)
class RecordChain:
    """The head of the ledger's chain, and the entries of this bore: what was signed, and what was logged."""

    head_sequence: int
    head_sha256: str
    entries: tuple[RecordEntry, ...]
    log: tuple[RecordLogEntry, ...]
