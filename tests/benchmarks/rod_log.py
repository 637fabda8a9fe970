"""The reassessment after each rod against the same reads in PostGIS alone, and the pages about it.

Run as `python tests/benchmarks/rod_log.py [RODS] [CROSSINGS]`; what it stores is rolled back. A rod is sent
through the whole program, login and all: read, asked about, stored, signed. What the page then shows is
computed from the records: the path, and every crossing with its locating errors. The peer sends the
statements of that reassessment again and fetches their rows, and does nothing else. On a busy machine the
clock tells of the others too: the processor time of this program is told beside it.
"""

import sys
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, process_time
from uuid import UUID, uuid4

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402
from django.utils import timezone  # noqa: E402

from conflicts.desk.log_rod import scene_of  # noqa: E402
from conflicts.models import Bore, DrilledRod  # noqa: E402
from conflicts.rods_sheet import rods_sheet  # noqa: E402
from tests.benchmarks.bore_page import store_bore  # noqa: E402
from tests.factories import DrilledRodFactory, person_in_role  # noqa: E402


@dataclass(frozen=True)
class RodCosts:
    """Seconds of each part, how many crossings the drilled path met, and how many statements that reads.

    ``own_s`` is the processor time of the reassessment, without that of the database.
    """

    log_s: float
    reassess_s: float
    reads_s: float
    own_s: float
    statements: int
    page_s: float
    bore_page_s: float
    crossings: int


def measure(rods: int, crossings: int) -> RodCosts:
    """Measure on one bore with so many rods in the ground; the caller rolls the records back."""
    bore_id = store_bore(crossings)
    bore = Bore.objects.select_related("job__jurisdiction").get(pk=bore_id)
    last = None
    for _ in range(rods):
        last = DrilledRodFactory(bore=bore, after=last, length_m=3.048, depth_m=2.0)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    client = Client(HTTP_HOST="localhost")
    client.force_login(person_in_role("Foreman"))
    page, bore_page = (reverse(f"conflicts:{name}", args=[bore_id]) for name in ("rods", "bore"))
    client.get(page)
    client.get(bore_page)
    reads = _reads(bore)
    reassess_s, reads_s = least_seconds(lambda: _reassess(bore), lambda: _replay(reads), rounds=9)
    page_s, bore_page_s = least_seconds(lambda: client.get(page), lambda: client.get(bore_page))
    return RodCosts(
        log_s=_log_s(client, page, bore_id),
        reassess_s=reassess_s,
        reads_s=reads_s,
        own_s=min(_own_s(bore) for _ in range(9)),
        statements=len(reads),
        page_s=page_s,
        bore_page_s=bore_page_s,
        crossings=_reassess(bore),
    )


def _reads(bore: Bore) -> list[str]:
    """The statements of a reassessment, with their values written in."""
    with CaptureQueriesContext(connection) as captured:
        _reassess(bore)
    return [one["sql"] for one in captured.captured_queries]


def _replay(statements: list[str]) -> int:
    with connection.cursor() as cursor:
        rows = 0
        for statement in statements:
            cursor.execute(statement)
            rows += len(cursor.fetchall())
        return rows


def _own_s(bore: Bore) -> float:
    begun = process_time()
    _reassess(bore)
    return process_time() - begun


def _reassess(bore: Bore) -> int:
    """Read the records, lay out what was drilled, and assess every crossing of it."""
    assessed = scene_of(bore).at(timezone.now())
    return len(rods_sheet(assessed, assessed.site.log).passed)


def _log_s(client: Client, page: str, bore_id: UUID, times: int = 3) -> float:
    """The least of some rods sent one after the other."""
    found = []
    for _ in range(times):
        last = DrilledRod.objects.filter(bore=bore_id).order_by("-number").first()
        form = {
            "new_id": uuid4(), "after": last.pk, "depth": "2 m", "depth_unit": "m", "pitch": "0",
            "going": "down", "length": "10 ft",
        }  # fmt: skip
        begun = perf_counter()
        answer = client.post(page, form)
        found.append(perf_counter() - begun)
        if answer.status_code != 302:
            raise RuntimeError("the rod was not stored")
    return min(found)


def main() -> None:
    """Print what a rod costs."""
    rods = int(sys.argv[1]) if len(sys.argv) > 1 else 25
    crossings = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    with transaction.atomic():
        costs = measure(rods, crossings)
        transaction.set_rollback(True)
    print(f"{rods} rods in the ground, {costs.crossings} crossings met of {crossings}")
    print(
        f"every crossing reassessed from the records{costs.reassess_s * 1000:9.1f} ms, its own "
        f"processor time {costs.own_s * 1000:.1f} ms"
    )
    print(
        f"the same {costs.statements} reads in PostGIS alone, its peer{costs.reads_s * 1000:8.1f} ms: the "
        f"reassessment takes {costs.reassess_s / costs.reads_s:.2f} times as long"
    )
    for name, seconds in (
        ("a rod sent, asked about, stored, signed", costs.log_s),
        ("the rods' page", costs.page_s),
        ("the bore's page, its peer", costs.bore_page_s),
    ):
        print(f"{name:<44}{seconds * 1000:7.1f} ms, {seconds / costs.bore_page_s:.2f} of the bore's page")


if __name__ == "__main__":
    main()
