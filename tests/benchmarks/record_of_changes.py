"""What the record of every change costs: the same writes with its triggers, and with them switched off.

Run as `python tests/benchmarks/record_of_changes.py [ROWS]`; all of it is rolled back. One write brings a
file of ground points into a job, as the import's page does; the other saves and reckons a ticket many times.
"""

import json
import sys
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up
from django.utils import timezone  # noqa: E402

from locates.desk.bring_file import confirm, keep_file, store_file  # noqa: E402
from locates.desk.save_record import save_record  # noqa: E402
from locates.exchange.vector_files import read_tables  # noqa: E402
from locates.models import Job, RecordEvent  # noqa: E402
from tests.factories import PersonFactory, point, small_job  # noqa: E402
from tests.surveyed_files import confirmed  # noqa: E402

SAVES = 20
SWITCH = """
DO $$
DECLARE
    one record;
BEGIN
    FOR one IN
        SELECT tgrelid::regclass AS held, tgname FROM pg_trigger WHERE tgname LIKE 'keep\\_%'
    LOOP
        EXECUTE format('ALTER TABLE %s DISABLE TRIGGER %I', one.held, one.tgname);
    END LOOP;
END
$$
"""


@dataclass(frozen=True)
class Cost:
    """Seconds with the record and without, their ratio, and how many events were kept."""

    seconds: float
    without_seconds: float
    ratio: float
    events: int


@dataclass(frozen=True)
class Comparison:
    """Both writes."""

    bulk_import: Cost
    saves: Cost


def compare(rows: int) -> Comparison:
    """Bring so many rows and save a ticket, each with the record and without."""
    with transaction.atomic():
        job, person = small_job(), PersonFactory()
        found = Comparison(
            bulk_import=_cost(lambda: _bring(job, rows, person)),
            saves=_cost(lambda: _save(job, person)),
        )
        transaction.set_rollback(True)
    return found


def _cost(write: Callable[[], None]) -> Cost:
    events = 0

    def kept() -> None:
        nonlocal events
        before = RecordEvent.objects.count()
        write()
        events = RecordEvent.objects.count() - before

    seconds, without = least_seconds(lambda: _undone(kept), lambda: _undone(write, is_kept=False), rounds=5)
    return Cost(seconds, without, seconds / without, events)


def _undone(write: Callable[[], None], *, is_kept: bool = True) -> None:
    with transaction.atomic():
        if not is_kept:
            with connection.cursor() as cursor:
                cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
                cursor.execute(SWITCH)
        write()
        transaction.set_rollback(True)


def _bring(job: Job, rows: int, person: object) -> None:
    lines = ["ref,lon,lat,elevation_m"]
    for number in range(rows):
        place = point(number % 100, number // 100)
        lines.append(f"G{number},{place.x!r},{place.y!r},{100 + number / 1000}")
    raw = "\n".join(lines).encode()
    brought = keep_file(job, "ground_point", "ground.csv", raw, by=person, at=timezone.now())
    [table] = read_tables("ground.csv", raw)
    confirm(brought, confirmed(table, "ground_point", job=job, epsg="4326", unit="degree"))
    store_file(brought, by=person, at=timezone.now())


def _save(job: Job, person: object) -> None:
    for _ in range(SAVES):
        ticket = job.tickets.get()
        save_record(ticket, by=person, opened_version=ticket.version)


if __name__ == "__main__":
    print(json.dumps(asdict(compare(int(sys.argv[1]) if len(sys.argv) > 1 else 6000)), indent=2))
