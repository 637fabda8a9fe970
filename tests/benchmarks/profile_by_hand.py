"""Margins of a profile while its pitches are changed by hand, against the same bore's assessment as JSON.

Run as `python tests/benchmarks/profile_by_hand.py [CROSSINGS] [RODS]`; what it stores is rolled back. Both
are asked for through the whole program, login and packing included. The margins come with the picture and
the tables drawn anew, from records read within the last minute; the assessment reads them each time. The
goal is 100 ms on a core that has nothing else to do.
"""

import sys
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402

from conflicts.engine.profile_arcs import RodProfile  # noqa: E402
from conflicts.plan_text import written_plan  # noqa: E402
from tests.benchmarks.bore_page import store_bore  # noqa: E402
from tests.factories import BORE_LENGTH_M, person_in_role  # noqa: E402


@dataclass(frozen=True)
class Comparison:
    """Seconds of both, the queries of a change by hand, and how many lines and rods it tells."""

    change_s: float
    first_s: float
    json_s: float
    change_queries: int
    lines: int
    rods: int

    @property
    def ratio(self) -> float:
        """How many times as long the assessment takes."""
        return self.json_s / self.change_s


def given_plan(count: int) -> str:
    """So many rods that go down, run level and come up again."""
    slope = np.clip(np.linspace(-0.22, 0.22, count + 1), -0.1, 0.1)
    lengths = np.full(count, 1.003 * BORE_LENGTH_M / count)
    return written_plan(RodProfile(0.0, 0.0, lengths, np.arctan(slope)))


def compare(crossings: int, rods: int) -> Comparison:
    """Ask for both on a bore with so many crossings; the caller rolls the records back."""
    bore_id = store_bore(crossings)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    client = Client(HTTP_HOST="localhost")
    client.force_login(person_in_role("Foreman"))
    address = reverse("conflicts:profile-figures", args=[bore_id])
    document = reverse("conflicts:assessment", args=[bore_id])
    asked = {"plan": given_plan(rods), "rod": str(rods // 2), "percent": "0.4"}
    start = perf_counter()
    client.get(address, asked)
    first_s = perf_counter() - start
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(address, asked).json()
    asked_of_database = len(queries)
    client.get(document)
    change_s, json_s = least_seconds(lambda: client.get(address, asked), lambda: client.get(document))
    return Comparison(
        change_s=change_s,
        first_s=first_s,
        json_s=json_s,
        change_queries=asked_of_database,
        lines=answer["parts"]["lines"].count('id="crossing-'),
        rods=len(answer["rods"]) - 1,
    )


def main() -> None:
    """Print the comparison."""
    crossings = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    rods = int(sys.argv[2]) if len(sys.argv) > 2 else 60
    with transaction.atomic():
        found = compare(crossings, rods)
        transaction.set_rollback(True)
    print(f"{found.lines} lines, {found.rods} rods")
    print(f"a pitch changed by hand {1e3 * found.change_s:7.1f} ms, {found.change_queries} queries")
    print(f"the first of them       {1e3 * found.first_s:7.1f} ms")
    print(f"the assessment as JSON  {1e3 * found.json_s:7.1f} ms")
    print(f"ratio                   {found.ratio:7.1f}")


if __name__ == "__main__":
    main()
