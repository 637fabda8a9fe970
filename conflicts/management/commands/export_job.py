"""`export_job JOB`: a job as a job file."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from conflicts.exchange.whole_job import export_job
from conflicts.lookup import NotThereError, find_job
from locates.exchange.job_documents import document_text

BAD_INPUT = 2


class Command(BaseCommand):
    """Write a job as a job file, on standard output unless a file is named; leave with 2 if there is none."""

    help = "Write a job as a job file (GeoJSON), which load_job reads."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the job, its organisation and where to write."""
        parser.add_argument("job", metavar="JOB", help="the job's name")
        parser.add_argument(
            "--organisation", metavar="NAME", help="needed if two organisations have such a job"
        )
        parser.add_argument(
            "--output", type=Path, metavar="FILE", help="write to this file instead of standard output"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Write the document and nothing else on standard output."""
        try:
            job = find_job(options["job"], options["organisation"])
        except NotThereError as error:
            self.stderr.write(str(error))
            sys.exit(BAD_INPUT)
        text = document_text(export_job(job))
        if options["output"] is None:
            self.stdout.write(text, ending="")
            return
        try:
            options["output"].write_text(text, encoding="utf-8")
        except OSError as error:
            self.stderr.write(f"{options['output']}: {error.strerror}.")
            sys.exit(BAD_INPUT)
        self.stderr.write(f"Wrote {options['output']}.")
