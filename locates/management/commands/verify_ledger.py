"""Prove the chain of what was signed."""

import json
import re
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from locates.desk.prove_ledger import Proof, prove_ledger

NOT_PROVEN = 1
BAD_INPUT = 2
SCHEMA_VERSION = 1


class Command(BaseCommand):
    """Exit status 0: proven; 1: not proven; 2: bad input."""

    help = (
        "Prove that every signed record still says what it said when it was signed, and that no entry was "
        "altered, taken out, put in or moved. Note the head elsewhere, and hand it in the next time: whoever "
        "owns the database could make a chain anew, but not with that head in it."
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
        proof = prove_ledger(noted_head=noted_head)
        if options["format"] == "json":
            self.stdout.write(json.dumps(_document(proof), indent=1))
        else:
            self.stdout.write(_text(proof))
        if not proof.is_proven:
            raise SystemExit(NOT_PROVEN)


def _document(proof: Proof) -> dict[str, Any]:
    fault = proof.fault
    return {
        "schema_version": SCHEMA_VERSION,
        "is_proven": proof.is_proven,
        "proven_entries": proof.count,
        "head_sequence": proof.head.sequence,
        "head_sha256": proof.head.entry_sha256,
        "first_fault": fault
        and {
            "sequence": fault.sequence,
            "kind": fault.kind,
            "record_id": fault.record_id and str(fault.record_id),
            "why": fault.words,
        },
    }


def _text(proof: Proof) -> str:
    fault = proof.fault
    if fault is None:
        number = "1 entry" if proof.count == 1 else f"{proof.count} entries"
        return f"Proven: {number}.\nHead: {proof.head.entry_sha256}"
    of_record = f" ({fault.kind} {fault.record_id})" if fault.record_id else ""
    if fault.sequence is None:
        return f"Not proven{of_record}. {fault.words}"
    return f"Not proven. The first bad entry is {fault.sequence}{of_record}. {fault.words}"
