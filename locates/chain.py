"""The rule of the chain: what an entry's digest is taken of, and what cannot be where one follows another."""

from datetime import datetime
from json import loads
from typing import Any, NamedTuple, Protocol
from uuid import UUID

from locates.canonical import BEFORE_THE_FIRST, canonical_text, digest_of, utc_text


class Entry(Protocol):
    """What one entry of the ledger holds."""

    sequence: int
    kind: str
    record_id: UUID
    job_id: UUID
    content: str
    content_sha256: str
    previous_sha256: str
    entry_sha256: str
    entered_at: datetime
    entered_by_id: Any


class Place(NamedTuple):
    """Where the chain stands: the number of its last entry and its digest."""

    sequence: int
    entry_sha256: str


BEGINNING = Place(0, BEFORE_THE_FIRST)
"""Where it stands before the first entry."""


class Fault(NamedTuple):
    """What cannot be: the number of the entry, its kind and record where there is one, and why.

    ``why`` names nothing of the record; its ``members`` that differ tell of which kind it is.
    """

    sequence: int | None
    kind: str
    record_id: UUID | None
    why: str
    members: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """Why, with the members, for whoever may know which record it is."""
        return f"{self.why.removesuffix('.')}: {', '.join(self.members)}." if self.members else self.why


def entry_document(entry: Entry) -> dict[str, Any]:
    """What an entry's own digest is taken of; its content stands in it by digest.

    Parameters
    ----------
    entry : Entry
        With all of its members but its own digest.

    Returns
    -------
    dict
        Members by name, JSON values only.
    """
    return {
        "sequence": entry.sequence,
        "kind": entry.kind,
        "record_id": str(entry.record_id),
        "job_id": str(entry.job_id),
        "entered_at": utc_text(entry.entered_at),
        "entered_by_id": entry.entered_by_id,
        "content_sha256": entry.content_sha256,
        "previous_sha256": entry.previous_sha256,
    }


def entry_digest(entry: Entry) -> str:
    """SHA-256 of the canonical JSON of an entry's document, in 64 small hexadecimal digits."""
    return digest_of(canonical_text(entry_document(entry)))


def fault_in_chain(entry: Entry, before: Place) -> Fault | None:
    """What cannot be of an entry that comes next in order of the numbers.

    Parameters
    ----------
    entry : Entry
        The one that comes next.
    before : Place
        Where the chain stands before it.

    Returns
    -------
    Fault or None
        The first of: a number left out, another predecessor, content whose digest is another or that is not
        canonical JSON, an own digest that is another. None where the entry continues the chain.
    """
    due = before.sequence + 1
    if entry.sequence != due:
        return Fault(due, "", None, f"It is missing: entry {entry.sequence} stands in its place.")
    why = _why(entry, before)
    return Fault(entry.sequence, entry.kind, entry.record_id, why) if why else None


def _why(entry: Entry, before: Place) -> str:
    if entry.previous_sha256 != before.entry_sha256:
        named, there = entry.previous_sha256, before.entry_sha256
        return f"It names {named} as the digest of the entry before, which is {there}."
    content_digest = digest_of(entry.content)
    if entry.content_sha256 != content_digest:
        return f"Its content has the digest {content_digest}, and it says {entry.content_sha256}."
    if not _is_canonical_object(entry.content):
        return "Its content is no object in canonical JSON (RFC 8785)."
    own_digest = entry_digest(entry)
    if entry.entry_sha256 != own_digest:
        return f"Its own digest is {own_digest}, and it says {entry.entry_sha256}."
    return ""


def _is_canonical_object(content: str) -> bool:
    try:
        value = loads(content)
        return isinstance(value, dict) and canonical_text(value) == content
    except (ValueError, RecursionError):
        return False


def fault_of_record(entry: Entry, job_id: UUID, content: dict[str, Any]) -> Fault | None:
    """What a signed record says otherwise now than its entry does.

    Parameters
    ----------
    entry : Entry
        One that `fault_in_chain` has nothing against.
    job_id : UUID
        Of the job that the record belongs to.
    content : dict
        What the record's `ledger_content` gives now.

    Returns
    -------
    Fault or None
        It names the members that differ, never what they hold.
    """
    if entry.job_id != job_id:
        return Fault(entry.sequence, entry.kind, entry.record_id, "Its record belongs to another job now.")
    try:
        written = canonical_text(content)
    except ValueError:
        why = "Its record now holds a value that JSON cannot."
        return Fault(entry.sequence, entry.kind, entry.record_id, why)
    if written == entry.content:
        return None
    signed = loads(entry.content)
    # As text, for 1 and true are equal in Python.
    others = sorted(
        name
        for name in {*signed, *content}
        if name not in signed
        or name not in content
        or canonical_text(signed[name]) != canonical_text(content[name])
    )
    why = "Its record says otherwise now than when it was signed."
    return Fault(entry.sequence, entry.kind, entry.record_id, why, tuple(others))
