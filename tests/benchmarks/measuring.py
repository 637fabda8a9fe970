"""How the benchmarks measure: both sides in turns, the best of a few rounds, on a database that is ready."""

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

import django
from django.apps import apps

from config.bootstrap import make_ready as make_project_ready
from config.checkout import Checkout


def make_ready() -> None:
    """Set Django up for a script; the private database starts unless DATABASE_URL names another."""
    if apps.ready:
        return
    make_project_ready(Checkout(Path(__file__).resolve().parents[2]), sys.argv, "benchmark")
    # They make databases of their own.
    os.environ["DATABASE_URL"] = os.environ.pop("OWNER_DATABASE_URL", os.environ["DATABASE_URL"])
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.testing")
    django.setup()


def least_seconds(
    first: Callable[[], object], second: Callable[[], object], rounds: int = 5
) -> tuple[float, float]:
    """The least seconds of each of two runs, taken in turns, so that a busy moment hits both."""
    taken = [(_seconds(first), _seconds(second)) for _ in range(rounds)]
    return min(one for one, _ in taken), min(other for _, other in taken)


def _seconds(run: Callable[[], object]) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start
