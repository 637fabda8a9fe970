"""`export_job JOB`: a job as a job file."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from conflicts.exchange.whole_job import export_job
from locates.exchange.job_documents import document_text
from locates.models import Job

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
        jobs = Job.objects.with_grounds().filter(name=options["job"])
        if options["organisation"] is not None:
            jobs = jobs.filter(organisation__name=options["organisation"])
        found = list(jobs.order_by("organisation__name"))
        if len(found) != 1:
            self._refuse(options["job"], found)
        text = document_text(export_job(found[0]))
        if options["output"] is None:
            self.stdout.write(text, ending="")
            return
        try:
            options["output"].write_text(text, encoding="utf-8")
        except OSError as error:
            self.stderr.write(f"{options['output']}: {error.strerror}.")
            sys.exit(BAD_INPUT)
        self.stderr.write(f"Wrote {options['output']}.")

    def _refuse(self, name: str, found: list[Job]) -> None:
        if found:
            organisations = ", ".join(job.organisation.name for job in found)
            self.stderr.write(
                f'Several organisations have a job "{name}": say --organisation, one of {organisations}.'
            )
        else:
            names = ", ".join(
                f'"{known}"' for known in Job.objects.order_by("name").values_list("name", flat=True)[:20]
            )
            self.stderr.write(
                f'There is no job "{name}". ' + (f"There are: {names}." if names else "There are none.")
            )
        sys.exit(BAD_INPUT)
