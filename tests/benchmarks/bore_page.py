"""The page of a bore with its profile, in time and bytes, against the same assessment as JSON.

Run as `python tests/benchmarks/bore_page.py [CROSSINGS]`; what it stores is rolled back. Both are asked for
through the whole program, login and packing included. The JSON holds the checks and the crossings alone; the
page also draws the profile and shows the bore, its operators and its map's words.
"""

import gzip
import sys
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402

from conflicts.assess import store_assessment  # noqa: E402
from tests.factories import (  # noqa: E402
    BORE_LENGTH_M,
    MarkFactory,
    TestHoleFactory,
    line,
    person_in_role,
    point,
    small_job,
)

PACKING = 6  # what the middleware that packs answers uses


@dataclass(frozen=True)
class Comparison:
    """Seconds, bytes, packed bytes and queries of both, and how many crossings each of them shows."""

    page_s: float
    json_s: float
    page_bytes: int
    json_bytes: int
    page_packed_bytes: int
    json_packed_bytes: int
    page_queries: int
    json_queries: int
    page_crossings: int
    drawn_crossings: int
    json_crossings: int


def store_bore(crossings: int) -> UUID:
    """A bore of 100 m that so many lines cross, every fourth of them not exposed; its figures are stored."""
    job = small_job()
    operator = job.operators.get()
    for number in range(crossings - 1):
        east_m = 8.0 + (BORE_LENGTH_M - 16.0) * number / max(1, crossings - 1)
        mark = MarkFactory(job=job, operator=operator, geometry=line((east_m, -15), (east_m + 1.0, 15)))
        if number % 4:
            TestHoleFactory(job=job, mark=mark, position=point(east_m + 0.5, 0))
    bore_id = job.bores.get().pk
    store_assessment(bore_id)
    return bore_id


def compare(crossings: int) -> Comparison:
    """Measure both on one bore; the caller rolls the records back."""
    bore_id = store_bore(crossings)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    client = Client(HTTP_HOST="localhost")
    client.force_login(person_in_role("Foreman"))
    page_path = reverse("conflicts:bore", args=[bore_id])
    json_path = reverse("conflicts:assessment", args=[bore_id])
    page, document = client.get(page_path), client.get(json_path)
    page_s, json_s = least_seconds(lambda: client.get(page_path), lambda: client.get(json_path))
    markup = page.content.decode()
    return Comparison(
        page_s,
        json_s,
        len(page.content),
        len(document.content),
        _packed(page.content),
        _packed(document.content),
        _queries(client, page_path),
        _queries(client, json_path),
        markup.count('<tbody role="rowgroup" id="crossing-'),
        markup.count('<a href="#crossing-') - markup.split('id="profile"')[0].count('<a href="#crossing-'),
        len(document.json()["crossings"]),
    )


def _packed(content: bytes) -> int:
    return len(gzip.compress(content, compresslevel=PACKING))


def _queries(client: Client, path: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        client.get(path)
    return len(captured)


def main() -> None:
    """Print the comparison."""
    crossings = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    with transaction.atomic():
        found = compare(crossings)
        transaction.set_rollback(True)
    print(f"a bore with {found.page_crossings} crossings, {found.drawn_crossings} of them drawn")
    for name, seconds, size, packed, queries in (
        ("page with profile", found.page_s, found.page_bytes, found.page_packed_bytes, found.page_queries),
        ("the same as JSON", found.json_s, found.json_bytes, found.json_packed_bytes, found.json_queries),
    ):
        print(f"{name:<18}{seconds:7.3f} s {size:10,d} bytes, packed {packed:8,d}, {queries} queries")


if __name__ == "__main__":
    main()
