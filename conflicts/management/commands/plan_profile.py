"""Search a bore's profile among its lines, or say why there is none."""

import json
import os
import sys
from argparse import ArgumentParser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from conflicts.engine.errors import EngineError
from conflicts.find_profile import find_profile
from conflicts.lookup import NotThereError, find_bore, find_job
from conflicts.profile_document import profile_document, profile_text
from conflicts.profile_wishes import wishes_of
from locates.errors import LocatesError
from locates.units import parse_grade_ratio, parse_length_m

NONE_FOUND = 1
BAD_INPUT = 2


class Command(BaseCommand):
    """Exit status 0: a profile was found; 1: none was; 2: bad input or no answer."""

    help = "Search a bore's rod-by-rod profile with the largest least margin. It plans; it releases nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("job", help="name of the job, as in its file")
        parser.add_argument("bore", help="name of the bore")
        parser.add_argument("--organisation", help="where two organisations have a job of that name")
        parser.add_argument("--format", choices=("text", "json"), default="text")
        for end in ("entry", "exit"):
            parser.add_argument(
                f"--{end}-depth",
                metavar="LENGTH",
                nargs="+",
                help=f"depth of the hole's centre at the {end}, or least and greatest; default as recorded",
            )
        parser.add_argument("--rig-back", metavar="LENGTH", help="how far the rig may stand behind the entry")
        parser.add_argument("--rig-ahead", metavar="LENGTH", help="how far it may stand after the entry")
        parser.add_argument("--steepest", metavar="GRADE", help="steepest pitch; default that of the ends")
        parser.add_argument("--deepest", metavar="LENGTH", help="greatest depth of the hole's centre")
        parser.add_argument(
            "--unexposed-above",
            metavar="LENGTH",
            help="depth that no unexposed line goes below, on your word; default: it blocks every depth",
        )
        parser.add_argument("--enough-margin", metavar="LENGTH", help="margin past which shorter is better")
        parser.add_argument("--bound", action="store_true", help="also prove a margin to be out of reach")

    def handle(self, *args: Any, **options: Any) -> None:
        """Search and print."""
        wishes = wishes_of(
            entry_depth_m=_lengths(options, "entry_depth"),
            exit_depth_m=_lengths(options, "exit_depth"),
            rig_back_m=_read(options, "rig_back", parse_length_m),
            rig_ahead_m=_read(options, "rig_ahead", parse_length_m),
            steepest_pitch_ratio=_read(options, "steepest", parse_grade_ratio),
            greatest_depth_m=_read(options, "deepest", parse_length_m),
            unexposed_down_to_m=_read(options, "unexposed_above", parse_length_m),
            enough_margin_m=_read(options, "enough_margin", parse_length_m),
        )
        try:
            job = find_job(options["job"], options["organisation"])
            bore = find_bore(job, options["bore"])
            with _no_stray_output():
                document = profile_document(find_profile(bore.pk, wishes, with_bound=options["bound"]))
        except (NotThereError, EngineError) as error:
            raise CommandError(str(error), returncode=BAD_INPUT) from error
        if options["format"] == "json":
            self.stdout.write(json.dumps(document, indent=1, allow_nan=False, ensure_ascii=False))
        else:
            self.stdout.write(profile_text(document, job.show_units))
        if not document["found"]:
            raise SystemExit(NONE_FOUND)


@contextmanager
def _no_stray_output() -> Iterator[None]:
    """Lines that the solver's library prints by itself go to standard error, not into the document."""
    sys.stdout.flush()
    kept = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)


def _read(options: dict[str, Any], name: str, parse: Callable[[str], float]) -> float | None:
    return None if options[name] is None else _parsed(name, options[name], parse)


def _parsed(name: str, text: str, parse: Callable[[str], float]) -> float:
    try:
        return parse(text)
    except LocatesError as error:
        raise CommandError(f"--{name.replace('_', '-')}: {error}", returncode=BAD_INPUT) from error


def _lengths(options: dict[str, Any], name: str) -> tuple[float, float] | None:
    """One length, or a least and a greatest one."""
    texts = options[name]
    if texts is None:
        return None
    figures = [_parsed(name, text, parse_length_m) for text in texts]
    if len(figures) > 2 or figures != sorted(figures):
        raise CommandError(
            f"--{name.replace('_', '-')}: found '{' '.join(texts)}'; accepted is one length, or the least "
            "and then the greatest",
            returncode=BAD_INPUT,
        )
    return figures[0], figures[-1]
