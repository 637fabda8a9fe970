"""Prove the chain of what was signed, and that the signed records still say it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import DataError
from django.db.models import Exists, Model, OuterRef, QuerySet

from locates.chain import BEGINNING, Fault, Place, fault_in_chain, fault_of_record
from locates.kept_records import expected_guards
from locates.models import Job, LedgerEntry
from locates.models.event_witness import first_unlike, first_unsigned
from locates.models.guard_watch import guards_fallen
from locates.noted_heads import NotedHead, fault_of_heads, fault_of_moments
from locates.signed_kinds import signed_kinds, signing_commands

ENTRIES_AT_A_TIME = 1000

UNREADABLE = "It or its record holds a value that cannot be read."
OTHER_SIGNER = "Its record names another signer than the entry."


@dataclass(frozen=True, slots=True)
class Proof:
    """How far the chain was proven, or the first thing that cannot be.

    ``head`` is where the chain stood when the proof began; ``count`` how many entries were held against their
    records, all of them unless only the last ones were asked for; ``fallen_guards`` what of the database no
    longer keeps the record of changes or refuses its rewriting, each in a sentence.
    """

    head: Place
    count: int
    fault: Fault | None
    fallen_guards: tuple[str, ...] = ()

    @property
    def is_proven(self) -> bool:
        """Whether nothing was found."""
        return self.fault is None and not self.fallen_guards


def prove_ledger(
    *, noted_head: str | None = None, noted: Sequence[NotedHead] = (), last: int | None = None
) -> Proof:
    """Go through the chain in order, then look for signed records that have no entry or no fitting event.

    It finds what was altered, taken out, put in or moved in the entries or the signed records, and what was
    put in by SQL as nobody, as somebody else or as the tables' owner. Who rewrites every later entry and its
    record as well, or takes the last ones out with their records, leaves a chain that is sound in itself. The
    record of changes tells on them; who writes that over too leaves another head of the chain, so a head
    noted elsewhere has to be in it. Last it looks at the guards of the database themselves.

    Parameters
    ----------
    noted_head : str, optional
        Digest that some entry has to have.
    noted : sequence of NotedHead, optional
        Heads noted with their moment and number: those entries have to be there, and none after one may say
        that it was made before it.
    last : int, optional
        Only so many entries, up to the last, and of the record of changes only who stored them; without it
        all.

    Notes
    -----
    Entries are read `ENTRIES_AT_A_TIME`, with their records, so the memory does not grow with the chain. What
    is signed meanwhile is left for the next time: it lies above the head that was read first, and a record
    and its entry appear together.
    """
    head = LedgerEntry.objects.head()
    count, fault = _prove_chain(head, noted_head, last)
    fault = fault or _fault_of_notes(list(noted))
    return Proof(head, count, fault, tuple(guards_fallen(expected_guards())))


def _prove_chain(head: Place, noted_head: str | None, last: int | None) -> tuple[int, Fault | None]:
    place = BEGINNING if last is None else _place(head.sequence - last)
    count, most, start = 0, ENTRIES_AT_A_TIME, place.sequence
    # From the beginning whatever is there is read, also numbers below one.
    after = None if place == BEGINNING else place.sequence
    while True:
        try:
            batch = _with_records(LedgerEntry.objects.next_after(after, head.sequence, most))
        except DataError:
            # PostgreSQL knows moments, such as infinity, that no program writes here and Python cannot hold.
            if most == 1:
                return count, Fault(place.sequence + 1, "", None, UNREADABLE)
            most = 1
            continue
        if not batch:
            fault = _fault_without_entry() or _fault_in_events(start, head.sequence, all_of_them=last is None)
            return count, fault or _fault_of_head(noted_head)
        for entry, record in batch:
            fault = fault_in_chain(entry, place) or _fault_beside(entry, record)
            if fault is not None:
                return count, fault
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
        fault = fault_of_record(entry, record.home_job_id, record.ledger_content())
        if fault is None and record.signer_id != entry.entered_by_id:
            return Fault(entry.sequence, entry.kind, entry.record_id, OTHER_SIGNER)
        return fault
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


def _fault_in_events(start: int, until: int, *, all_of_them: bool) -> Fault | None:
    tables = {kind: model._meta.db_table for kind, (model, _) in signed_kinds().items()}
    found = [first_unsigned(tables, signing_commands(), after=start, until=until)]
    if all_of_them:
        found.append(first_unlike(list(tables.values())))
    there = [one for one in found if one is not None]
    if not there:
        return None
    # One without an entry comes after all that have one; of one entry what was done to it later comes first.
    first = min(reversed(there), key=lambda one: (one.sequence is None, one.sequence or 0))
    kind = next(kind for kind, table in tables.items() if table == first.table)
    return Fault(first.sequence, kind, first.record_id, first.why)


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


def _fault_of_notes(noted: list[NotedHead]) -> Fault | None:
    if not noted:
        return None
    of_them = LedgerEntry.objects.filter(sequence__in={one.place.sequence for one in noted})
    fault = fault_of_heads(noted, dict(of_them.values_list("sequence", "entry_sha256")))
    if fault is not None:
        return fault
    made = LedgerEntry.objects.order_by("sequence").values_list("sequence", "entered_at")
    return fault_of_moments(noted, made.iterator(ENTRIES_AT_A_TIME))
