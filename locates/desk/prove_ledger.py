"""Prove the chain of what was signed, and that the signed records still say it."""

from collections import defaultdict
from dataclasses import dataclass
from uuid import UUID

from django.db import DataError
from django.db.models import Exists, Model, OuterRef, QuerySet

from locates.chain import BEGINNING, Fault, Place, fault_in_chain, fault_of_record
from locates.models import Job, LedgerEntry
from locates.models.event_witness import first_unlike
from locates.signed_kinds import signed_kinds

ENTRIES_AT_A_TIME = 1000

UNREADABLE = "It or its record holds a value that cannot be read."


@dataclass(frozen=True, slots=True)
class Proof:
    """How far the chain was proven, or the first thing that cannot be.

    ``head`` is where the chain stood when the proof began; ``count`` how many entries were held against their
    records, all of them unless only the last ones were asked for.
    """

    head: Place
    count: int
    fault: Fault | None

    @property
    def is_proven(self) -> bool:
        """Whether nothing was found."""
        return self.fault is None


def prove_ledger(*, noted_head: str | None = None, last: int | None = None) -> Proof:
    """Go through the chain in order, then look for signed records that have no entry or no fitting event.

    It finds what was altered, taken out, put in or moved in the entries or the signed records. Who rewrites
    every later entry and its record as well, or takes the last ones out with their records, leaves a chain
    that is sound in itself. The record of changes tells on them; who writes that over too leaves another head
    of the chain, so a head noted elsewhere has to be in it.

    Parameters
    ----------
    noted_head : str, optional
        Digest that some entry has to have.
    last : int, optional
        Only so many entries, up to the last, and without asking the record of changes; without it all.

    Notes
    -----
    Entries are read `ENTRIES_AT_A_TIME`, with their records, so the memory does not grow with the chain. What
    is signed meanwhile is left for the next time: it lies above the head that was read first, and a record
    and its entry appear together.
    """
    head = LedgerEntry.objects.head()
    place = BEGINNING if last is None else _place(head.sequence - last)
    count, most = 0, ENTRIES_AT_A_TIME
    # From the beginning whatever is there is read, also numbers below one.
    after = None if place == BEGINNING else place.sequence
    while True:
        try:
            batch = _with_records(LedgerEntry.objects.next_after(after, head.sequence, most))
        except DataError:
            # PostgreSQL knows moments, such as infinity, that no program writes here and Python cannot hold.
            if most == 1:
                return Proof(head, count, Fault(place.sequence + 1, "", None, UNREADABLE))
            most = 1
            continue
        if not batch:
            fault = _fault_without_entry() or (_fault_in_events() if last is None else None)
            return Proof(head, count, fault or _fault_of_head(noted_head))
        for entry, record in batch:
            fault = fault_in_chain(entry, place) or _fault_beside(entry, record)
            if fault is not None:
                return Proof(head, count, fault)
            place = Place(entry.sequence, entry.entry_sha256)
            count += 1
        after = place.sequence


def _place(sequence: int) -> Place:
    """Where the chain stands after an entry, taken as it is; its beginning where there is no such entry."""
    found = LedgerEntry.objects.filter(sequence=sequence).values_list("sequence", "entry_sha256").first()
    return Place(*found) if found else BEGINNING


def _with_records(entries: list[LedgerEntry]) -> list[tuple[LedgerEntry, Model | None]]:
    """Each entry with its record, read a kind at a time."""
    ids: dict[str, set[UUID]] = defaultdict(set)
    for entry in entries:
        ids[entry.kind].add(entry.record_id)
    known = signed_kinds()
    records = {
        (kind, record.pk): record
        for kind in ids.keys() & known.keys()
        for record in known[kind].rows_of(ids[kind])
    }
    return [(entry, records.get((entry.kind, entry.record_id))) for entry in entries]


def _fault_beside(entry: LedgerEntry, record: Model | None) -> Fault | None:
    if record is not None:
        return fault_of_record(entry, record.home_job_id, record.ledger_content())
    known = signed_kinds()
    why = "Its record is gone." if entry.kind in known else "It is of no kind that is signed here."
    return Fault(entry.sequence, entry.kind, entry.record_id, why)


def _fault_without_entry() -> Fault | None:
    for kind, (model, _) in signed_kinds().items():
        of_it = LedgerEntry.objects.filter(kind=kind, record_id=OuterRef("pk"))
        bare = model._base_manager.filter(~Exists(of_it)).order_by("pk").values_list("pk", flat=True).first()
        if bare is not None:
            return Fault(None, kind, bare, "A signed record has no entry.")
    return None


def _fault_in_events() -> Fault | None:
    kinds = {model._meta.db_table: kind for kind, (model, _) in signed_kinds().items()}
    found = first_unlike(list(kinds))
    if found is None:
        return None
    return Fault(found.sequence, kinds[found.table], found.record_id, found.why)


def is_of_jobs(fault: Fault | None, jobs: QuerySet[Job]) -> bool:
    """Whether a fault is in an entry and a record of these jobs, so that their people may be told which.

    Where neither the entry nor the record is there, or they tell of different jobs, nobody is: somebody who
    moves one of them in SQL shows it to nobody else by that.
    """
    if fault is None or fault.record_id is None:
        return False
    entries = LedgerEntry.objects.filter(kind=fault.kind, record_id=fault.record_id)
    told = set(entries.values_list("job", flat=True))
    known = signed_kinds().get(fault.kind)
    try:
        told |= {record.home_job_id for record in known.rows_of([fault.record_id])} if known else set()
    except DataError:
        # A moment that Python cannot hold, in a record without an entry: nobody can tell whose it is.
        return False
    return bool(told) and jobs.filter(pk__in=told).count() == len(told)


def _fault_of_head(noted_head: str | None) -> Fault | None:
    if noted_head is None or LedgerEntry.objects.filter(entry_sha256=noted_head).exists():
        return None
    return Fault(None, "", None, f"No entry has the digest {noted_head}, which was noted as the head.")
