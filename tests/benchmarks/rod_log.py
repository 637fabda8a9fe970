"""The page of the rods after each rod, and the reassessment behind it, against the bore's own page.

Run as `python tests/benchmarks/rod_log.py [RODS] [CROSSINGS]`; what it stores is rolled back. A rod is sent
through the whole program, login and all: read, asked about, stored, signed. What the page then shows is
computed from the records: the path, and every crossing with its locating errors.
"""

import sys
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter
from uuid import UUID, uuid4

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up
from django.test import Client  # noqa: E402
from django.urls import reverse  # noqa: E402
from django.utils import timezone  # noqa: E402

from conflicts.desk.log_rod import scene_of  # noqa: E402
from conflicts.gather_rods import gather_rods  # noqa: E402
from conflicts.models import Bore, DrilledRod  # noqa: E402
from conflicts.rods_sheet import rods_sheet  # noqa: E402
from tests.benchmarks.bore_page import store_bore  # noqa: E402
from tests.factories import DrilledRodFactory, person_in_role  # noqa: E402


@dataclass(frozen=True)
class RodCosts:
    """Seconds of each part, and how many crossings the drilled path met."""

    log_s: float
    reassess_s: float
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
    reassess_s, bore_page_s = least_seconds(lambda: _reassess(bore), lambda: client.get(bore_page))
    page_s, _ = least_seconds(lambda: client.get(page), lambda: client.get(bore_page))
    return RodCosts(_log_s(client, page, bore_id), reassess_s, page_s, bore_page_s, _reassess(bore))


def _reassess(bore: Bore) -> int:
    """Read the records, lay out what was drilled, and assess every crossing of it."""
    return len(rods_sheet(scene_of(bore), gather_rods([bore])[bore.pk], timezone.now()).passed)


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
    for name, seconds in (
        ("a rod sent, asked about, stored, signed", costs.log_s),
        ("every crossing reassessed from the records", costs.reassess_s),
        ("the rods' page", costs.page_s),
        ("the bore's page, its peer", costs.bore_page_s),
    ):
        print(f"{name:<44}{seconds * 1000:7.1f} ms, {seconds / costs.bore_page_s:.2f} of the bore's page")


if __name__ == "__main__":
    main()
