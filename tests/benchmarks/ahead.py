"""What the page for the rig asks for every few seconds, against the bore's own page.

Run as `python tests/benchmarks/ahead.py [RODS] [CROSSINGS]`; what it stores is rolled back. The sheet is
asked for as the page does it, through the whole program, login and all: the records, the path that was
drilled, whether the release still holds, every line ahead by itself and all of them together.
"""

import sys
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from uuid import UUID

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402
from django.utils import timezone  # noqa: E402

from conflicts.models import Release  # noqa: E402
from conflicts.release import sign_release  # noqa: E402
from tests.factories import (  # noqa: E402
    BORE_LENGTH_M,
    DrilledRodFactory,
    MarkFactory,
    TestHoleFactory,
    line,
    person_in_role,
    point,
)
from tests.site_of_today import bore_of_today  # noqa: E402

ROD_M = 3.048


@dataclass(frozen=True)
class AheadCosts:
    """Seconds of an answer and of the bore's page, queries of the answer, and what it told."""

    answer_s: float
    bore_page_s: float
    queries: int
    crossings: int
    advice: str


def store_released_bore(rods: int, crossings: int) -> UUID:
    """A released bore of this day that so many exposed lines cross, with rods down to 2 m in the ground."""
    bore = bore_of_today()
    operator = bore.job.operators.get()
    for number in range(crossings - 1):
        east_m = 25.0 + (BORE_LENGTH_M - 50.0) * number / max(1, crossings - 1)
        mark = MarkFactory(job=bore.job, operator=operator, geometry=line((east_m, -15), (east_m + 1.0, 15)))
        TestHoleFactory(job=bore.job, mark=mark, position=point(east_m + 0.5, 0))
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=person_in_role("Safety manager"))
    last = None
    for number in range(1, rods + 1):
        last = DrilledRodFactory(
            bore=bore,
            after=last,
            length_m=ROD_M,
            pitch_ratio=-0.1 if number < 7 else 0.0,
            depth_m=min(2.0, 0.3033 * number),
            logged_at=now,
        )
    return bore.pk


def measure(rods: int, crossings: int) -> AheadCosts:
    """Measure on one bore; the caller rolls the records back."""
    bore_id = store_released_bore(rods, crossings)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    client = Client(HTTP_HOST="localhost")
    client.force_login(person_in_role("Foreman"))
    asked, page = (reverse(f"conflicts:{name}", args=[bore_id]) for name in ("ahead-state", "bore"))
    sheet = client.get(asked).json()["sheet"]
    client.get(page)
    queries = _queries(client, asked)
    answer_s, bore_page_s = least_seconds(lambda: client.get(asked), lambda: client.get(page))
    return AheadCosts(answer_s, bore_page_s, queries, len(sheet["rows"]), sheet["advice"])


def _queries(client: Client, path: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        client.get(path)
        return len(captured)


def main() -> None:
    """Print what an answer costs."""
    rods = int(sys.argv[1]) if len(sys.argv) > 1 else 6
    crossings = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    with transaction.atomic():
        costs = measure(rods, crossings)
        transaction.set_rollback(True)
    print(f"{rods} rods in the ground, {costs.crossings} crossings ahead, told: {costs.advice}")
    for name, seconds in (
        (f"the sheet for the rig, {costs.queries} queries", costs.answer_s),
        ("the bore's page, its peer", costs.bore_page_s),
    ):
        print(f"{name:<44}{seconds * 1000:7.1f} ms, {seconds / costs.bore_page_s:.2f} of the bore's page")


if __name__ == "__main__":
    main()
