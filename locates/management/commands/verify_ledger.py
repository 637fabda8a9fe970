"""Prove the chain of what was signed."""

import json
import re
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, OperationalError, connection
from django.db.migrations.executor import MigrationExecutor

from locates.desk.prove_ledger import Proof, prove_ledger
from locates.models import LedgerEntry

NOT_PROVEN = 1
BAD_INPUT = 2
CANNOT_TELL = 3
SCHEMA_VERSION = 1


class Command(BaseCommand):
    """Exit status 0: proven; 1: not proven; 2: bad input; 3: the database cannot be asked."""

    help = (
        "Prove that every signed record still says what it said when it was signed, and that no entry was "
        "altered, taken out, put in or moved; that each was stored on a page for the person who signed it; "
        "and that the guards of the database stand. Note the head elsewhere, best every day, and hand it in "
        "the next time: whoever owns the database could make a chain anew, but not with that head in it, and "
        "what is added later comes after it."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--head", metavar="SHA256", help="a head noted before; some entry has to have it")
        parser.add_argument("--format", choices=("text", "json"), default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        """Prove and print."""
        noted_head = options["head"]
        if noted_head is not None and not re.fullmatch(r"[0-9a-f]{64}", noted_head):
            raise CommandError(
                f"--head: found '{noted_head}'; accepted are 64 digits of 0 to 9 and a to f",
                returncode=BAD_INPUT,
            )
        _refuse_other_tables()
        proof = prove_ledger(noted_head=noted_head)
        if options["format"] == "json":
            self.stdout.write(json.dumps(_document(proof, noted_head), indent=1))
        else:
            self.stdout.write(_text(proof, noted_head))
        if not proof.is_proven:
            raise SystemExit(NOT_PROVEN)


def _refuse_other_tables() -> None:
    """Refuse a database that is not of this version: nothing can be said of it."""
    try:
        executor = MigrationExecutor(connection)
        waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except OperationalError as error:
        raise CommandError(f"The database does not answer: {error}", returncode=CANNOT_TELL) from error
    except DatabaseError as error:
        raise CommandError(f"The database refuses to tell: {error}", returncode=CANNOT_TELL) from error
    if waiting:
        first = f"{waiting[0][0].app_label}.{waiting[0][0].name}"
        number = "1 migration waits" if len(waiting) == 1 else f"{len(waiting)} migrations wait"
        raise CommandError(
            f"Nothing was proven: the database is not of this version, {number}, the first being {first}. "
            "Run `python3 manage.py migrate` first.",
            returncode=CANNOT_TELL,
        )


def _noted(proof: Proof, noted_head: str | None) -> LedgerEntry | None:
    """The entry whose digest was noted; None where none was, or there is no such entry."""
    return LedgerEntry.objects.filter(entry_sha256=noted_head, sequence__lte=proof.head.sequence).first()


def _document(proof: Proof, noted_head: str | None) -> dict[str, Any]:
    fault = proof.fault
    noted = _noted(proof, noted_head)
    return {
        "schema_version": SCHEMA_VERSION,
        "is_proven": proof.is_proven,
        "proven_entries": proof.count,
        "head_sequence": proof.head.sequence,
        "head_sha256": proof.head.entry_sha256,
        "noted_sequence": noted and noted.sequence,
        "first_fault": fault
        and {
            "sequence": fault.sequence,
            "kind": fault.kind,
            "record_id": fault.record_id and str(fault.record_id),
            "why": fault.words,
        },
        "fallen_guards": list(proof.fallen_guards),
    }


def _text(proof: Proof, noted_head: str | None) -> str:
    if proof.is_proven:
        number = "1 entry" if proof.count == 1 else f"{proof.count} entries"
        lines = [f"Proven: {number}.", f"Head: {proof.head.entry_sha256}"]
        noted = _noted(proof, noted_head)
        if noted is not None:
            since = proof.head.sequence - noted.sequence
            at = f"{noted.entered_at:%Y-%m-%d %H:%M:%S} UTC"
            lines.append(f"Noted head: entry {noted.sequence}, made {at}; {since} came after it.")
        return "\n".join(lines)
    return "\n".join([*_fault_lines(proof), *proof.fallen_guards])


def _fault_lines(proof: Proof) -> list[str]:
    fault = proof.fault
    if fault is None:
        return ["Not proven. The entries are sound, but not all that guards them in the database:"]
    of_record = f" ({fault.kind} {fault.record_id})" if fault.record_id else ""
    if fault.sequence is None:
        return [f"Not proven{of_record}. {fault.words}"]
    return [f"Not proven. The first bad entry is {fault.sequence}{of_record}. {fault.words}"]
