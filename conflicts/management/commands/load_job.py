"""`load_job FILE [--replace]`: a job file into the database, all or nothing."""

import os
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from conflicts.exchange.whole_job import load_job
from locates.errors import JobFileError
from locates.exchange.json_reader import LARGEST_FILE_BYTES, check_size
from locates.recorded_command import RecordedCommand

BAD_INPUT = 2


class Command(RecordedCommand):
    """Load a job file (GeoJSON); on bad input say what and where, change nothing, and leave with 2."""

    help = "Load a job file (GeoJSON). Bad input changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file and whether it may replace a job."""
        parser.add_argument("file", type=Path, metavar="FILE", help="the job file")
        parser.add_argument(
            "--replace",
            action="store_true",
            help="if a job of this name is there, put this one in its place",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Load the file and say what was stored."""
        try:
            job = load_job(_bytes_of(options["file"]), replace=options["replace"])
        except JobFileError as error:
            for line in error.lines():
                self.stderr.write(line)
            self.stderr.write("Nothing was changed.")
            sys.exit(BAD_INPUT)
        except OSError as error:
            self.stderr.write(f"{options['file']}: {error.strerror}. Nothing was changed.")
            sys.exit(BAD_INPUT)
        counted = (
            (job.bores.count(), "bore"),
            (job.tickets.count(), "ticket"),
            (job.marks.count(), "mark"),
            (job.test_holes.count(), "test hole"),
        )
        stored = ", ".join(f"{count} {word}{'' if count == 1 else 's'}" for count, word in counted)
        self.stdout.write(f'Loaded the job "{job.name}" of {job.organisation.name}: {stored}.')


def _bytes_of(file: Path) -> bytes:
    """The file's bytes; one that is too large is not read."""
    with file.open("rb") as stream:
        check_size(os.fstat(stream.fileno()).st_size)
        # A pipe or a device has no size to ask for: read one byte more than is accepted, and no further.
        return stream.read(LARGEST_FILE_BYTES + 1)
