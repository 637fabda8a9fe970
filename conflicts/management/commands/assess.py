"""Say whether a bore may be drilled, and what is missing."""

import json
from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from conflicts.assess import assess
from conflicts.assessment_text import assessment_text
from conflicts.engine.errors import EngineError
from conflicts.lookup import NotThereError, find_bore, find_job

HOLDS = 1
BAD_INPUT = 2


class Command(BaseCommand):
    """Exit status 0: nothing holds as far as the records tell; 1: something holds; 2: bad input."""

    help = "Assess a bore: its crossings, and what must be done before it may be drilled."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("job", help="name of the job, as in its file")
        parser.add_argument("bore", help="name of the bore")
        parser.add_argument("--organisation", help="where two organisations have a job of that name")
        parser.add_argument("--format", choices=("text", "json"), default="text")
        parser.add_argument("--at", metavar="TIME", help="RFC 3339 moment with an offset; default now")

    def handle(self, *args: Any, **options: Any) -> None:
        """Assess and print."""
        at = _moment(options["at"])
        try:
            job = find_job(options["job"], options["organisation"])
            document = assess(find_bore(job, options["bore"]), at)
        except (NotThereError, EngineError) as error:
            raise CommandError(str(error), returncode=BAD_INPUT) from error
        if options["format"] == "json":
            self.stdout.write(json.dumps(document, indent=1, allow_nan=False, ensure_ascii=False))
        else:
            self.stdout.write(
                assessment_text(document, at=at, time_zone=job.time_zone, show_units=job.show_units)
            )
        if any(check["holds"] for check in document["checks"]):
            raise SystemExit(HOLDS)


def _moment(text: str | None) -> datetime:
    """The moment asked for, now where none is."""
    if text is None:
        return timezone.now()
    accepted = "accepted is a moment with an offset, such as 2026-11-25T07:00:00-05:00"
    try:
        moment = parse_datetime(text)
    except ValueError as error:
        raise CommandError(f"--at: found '{text}'; {accepted}", returncode=BAD_INPUT) from error
    if moment is None or moment.tzinfo is None:
        raise CommandError(f"--at: found '{text}'; {accepted}", returncode=BAD_INPUT)
    return moment
