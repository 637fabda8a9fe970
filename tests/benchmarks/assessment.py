"""The full assessment of many bores, database reads included, against ST_DWithin and ST_3DDistance in SQL.

Run as `python tests/benchmarks/assessment.py [BORES]`; what it stores is rolled back. SQL gives one distance
a line within the zone; the assessment reads the records of every bore and gives its document: extents, four
clearances, uncertainty, exposure, verdicts, coverage and checks. Both on one core.
"""

import sys
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up

from conflicts.assess import compute_bores, document  # noqa: E402
from tests.benchmarks.invented_jobs import invented_jobs  # noqa: E402
from tests.benchmarks.sql_side import SAME_BORE, store_geometry  # noqa: E402
from tests.benchmarks.stored_jobs import BORE_RADIUS_M, TOLERANCE_M, WIDTH_M, store_records  # noqa: E402
from tests.factories import PLANNED_START_AT  # noqa: E402

BATCH = 50
ROUNDS = 2
RADII_M = BORE_RADIUS_M + WIDTH_M / 2
ZONE_M = TOLERANCE_M + RADII_M
WITHIN_ZONE = f"{SAME_BORE} AND ST_DWithin(bore.path, line.path, {ZONE_M})"


@dataclass(frozen=True)
class Comparison:
    """Bores a second of both; lines that only one of them met; how far separations differ at most."""

    engine_per_s: float
    sql_per_s: float
    crossings: int
    differing: tuple[tuple[int, int], ...]
    apart_m: float

    @property
    def ratio(self) -> float:
        """How many times as many bores the assessment does."""
        return self.engine_per_s / self.sql_per_s


def assessed(bore_ids: list[UUID]) -> list[dict]:
    """The document of every bore, read and computed in batches."""
    documents = {}
    for start in range(0, len(bore_ids), BATCH):
        for bore_id, computed in compute_bores(bore_ids[start : start + BATCH]).items():
            documents[bore_id] = document(computed.at(PLANNED_START_AT))
    return [documents[bore_id] for bore_id in bore_ids]


def compare(count: int) -> Comparison:
    """Time both on so many jobs; the caller rolls the records back."""
    jobs = invented_jobs(count)
    store_geometry(jobs)
    bore_ids = store_records(jobs)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")

        def by_sql() -> list[tuple]:
            cursor.execute(f"SELECT bore.id, line.id, ST_3DDistance(bore.path, line.path) {WITHIN_ZONE}")
            return cursor.fetchall()

        engine_s, sql_s = least_seconds(lambda: assessed(bore_ids), by_sql, ROUNDS)
        theirs = {(bore, line): distance for bore, line, distance in by_sql()}
    ours: dict[tuple[int, int], float] = {}
    crossings = 0
    for bore, found in enumerate(assessed(bore_ids)):
        for one in found["crossings"]:
            key = (bore, bore * len(jobs[bore].lines_m) + int(one["mark_ref"][1:]))
            ours[key] = min(ours.get(key, float("inf")), one["separation_m"] + RADII_M)
            crossings += 1
    # In space a line may be nearest outside its zone; where the distance is within the zone it is inside.
    near = [key for key, distance in theirs.items() if distance < ZONE_M and key in ours]
    apart_m = max((abs(ours[key] - theirs[key]) for key in near), default=0.0)
    differing = tuple(sorted(ours.keys() ^ theirs.keys()))
    return Comparison(count / engine_s, count / sql_s, crossings, differing, apart_m)


def main() -> None:
    """Print the comparison."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with transaction.atomic():
        found = compare(count)
        transaction.set_rollback(True)
    print(f"{count} bores of 60 segments, each among 40 lines of 9 segments; {found.crossings} crossings")
    print(f"full assessment, reads included   {found.engine_per_s:10,.1f} bores/s")
    print(f"ST_DWithin and ST_3DDistance      {found.sql_per_s:10,.1f} bores/s")
    print(f"ratio                             {found.ratio:10.3f}")
    print(f"separations differ by at most     {found.apart_m:10.1e} m")
    print(f"lines that only one of them met   {len(found.differing):10d}")


if __name__ == "__main__":
    main()
