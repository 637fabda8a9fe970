"""Prove the chain of what was signed."""

import json
import re
import sys
from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, OperationalError, connection
from django.db.migrations.executor import MigrationExecutor

from locates.desk.prove_ledger import Proof, prove_ledger
from locates.exchange.moments import write_moment
from locates.models import LedgerEntry
from locates.noted_heads import NotedHead, head_line, read_heads
from locates.past_moments import database_clock

NOT_PROVEN = 1
BAD_INPUT = 2
CANNOT_TELL = 3
SCHEMA_VERSION = 1


class Command(BaseCommand):
    """Exit status 0: proven; 1: not proven; 2: bad input; 3: the database cannot be asked."""

    help = (
        "Prove that every signed record still says what it said when it was signed, and that no entry was "
        "altered, taken out, put in or moved; that each was stored on a page for the person who signed it; "
        "and that the guards of the database stand. Note the head elsewhere, each day with --noted, and "
        "hand it in the next time: whoever owns the database could make a chain anew, but not with that head "
        "in it, and what is added later comes after it."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--head", metavar="SHA256", help="a head noted before; some entry has to have it")
        printed = parser.add_mutually_exclusive_group()
        printed.add_argument("--format", choices=("text", "json"), default="text")
        printed.add_argument(
            "--noted",
            action="store_true",
            help="read the heads noted before from standard input, hold the chain against all of them, "
            "and print the line of this one alone; what is wrong goes to the error output",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Prove and print."""
        noted_head = options["head"]
        if noted_head is not None and not re.fullmatch(r"[0-9a-f]{64}", noted_head):
            raise CommandError(
                f"--head: found '{noted_head}'; accepted are 64 digits of 0 to 9 and a to f",
                returncode=BAD_INPUT,
            )
        noted = _noted_before() if options["noted"] else []
        _refuse_other_tables()
        # Before the head is read, so that whatever is signed later stands after it.
        at = database_clock()
        proof = prove_ledger(noted_head=noted_head, noted=noted)
        if options["noted"]:
            self._write_line(proof, at)
        elif options["format"] == "json":
            self.stdout.write(json.dumps(_document(proof, noted_head, at), indent=1))
        else:
            self.stdout.write(_text(proof, noted_head, at))
        if not proof.is_proven:
            raise SystemExit(NOT_PROVEN)

    def _write_line(self, proof: Proof, at: datetime) -> None:
        if proof.is_proven:
            self.stdout.write(head_line(NotedHead(at, proof.head)))
        else:
            self.stderr.write(_faults_text(proof))


def _noted_before() -> list[NotedHead]:
    try:
        return read_heads(sys.stdin)
    except ValueError as error:
        raise CommandError(f"Heads noted before, {error}.", returncode=BAD_INPUT) from error


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


def _document(proof: Proof, noted_head: str | None, at: datetime) -> dict[str, Any]:
    fault = proof.fault
    noted = _noted(proof, noted_head)
    return {
        "schema_version": SCHEMA_VERSION,
        "is_proven": proof.is_proven,
        "proven_entries": proof.count,
        "head_sequence": proof.head.sequence,
        "head_sha256": proof.head.entry_sha256,
        "read_at": write_moment(at),
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


def _text(proof: Proof, noted_head: str | None, at: datetime) -> str:
    if proof.is_proven:
        number = "1 entry" if proof.count == 1 else f"{proof.count} entries"
        lines = [f"Proven: {number}.", f"Head: {proof.head.entry_sha256}"]
        lines.append(f"It is entry {proof.head.sequence}, read {at:%Y-%m-%d %H:%M:%S} UTC.")
        noted = _noted(proof, noted_head)
        if noted is not None:
            since = proof.head.sequence - noted.sequence
            made = f"{noted.entered_at:%Y-%m-%d %H:%M:%S} UTC"
            lines.append(f"Noted head: entry {noted.sequence}, made {made}; {since} came after it.")
        return "\n".join(lines)
    return _faults_text(proof)


def _faults_text(proof: Proof) -> str:
    return "\n".join([*_fault_lines(proof), *proof.fallen_guards])


def _fault_lines(proof: Proof) -> list[str]:
    fault = proof.fault
    if fault is None:
        return ["Not proven. The entries are sound, but not all that guards them in the database:"]
    of_record = f" ({fault.kind} {fault.record_id})" if fault.record_id else ""
    if fault.sequence is None:
        return [f"Not proven{of_record}. {fault.words}"]
    return [f"Not proven. The first bad entry is {fault.sequence}{of_record}. {fault.words}"]
