"""Pairs a second of the 3-D kernel against PostGIS ST_3DDistance, on one core and the same geometry.

Run as `python tests/benchmarks/kernel.py [BORES]`; its tables are temporary. Both sides start from geometry
in place: arrays in memory, rows in an analysed table. The SELECT returns one sum, so that PostGIS pays for no
transfer; the engine returns every distance.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from django.db import connection

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from conflicts.engine.distance import polyline_distances_m
from tests.benchmarks.invented_jobs import FloatArray, invented_jobs
from tests.benchmarks.measuring import least_seconds, make_ready
from tests.benchmarks.sql_side import SAME_BORE, store_geometry


@dataclass(frozen=True)
class Comparison:
    """Pairs a second of both, and how far their distances lie apart at most."""

    pairs: int
    engine_per_s: float
    postgis_per_s: float
    apart_m: float

    @property
    def ratio(self) -> float:
        """How many times as many pairs the engine does."""
        return self.engine_per_s / self.postgis_per_s


def compare(count: int) -> Comparison:
    """Time both on every line of so many jobs with that job's bore, in turns."""
    jobs = invented_jobs(count)
    store_geometry(jobs)
    bores = [job.bore_m for job in jobs]
    lines = [line for job in jobs for line in job.lines_m]
    pairs = np.array([(number, 0) for number, job in enumerate(jobs) for _ in job.lines_m])
    pairs[:, 1] = np.arange(len(lines))

    def by_engine() -> FloatArray:
        return polyline_distances_m(bores, lines, pairs)

    with connection.cursor() as cursor:

        def by_postgis() -> None:
            cursor.execute(f"SELECT sum(ST_3DDistance(bore.path, line.path)) {SAME_BORE}")

        cursor.execute(f"SELECT ST_3DDistance(bore.path, line.path) {SAME_BORE} ORDER BY line.id")
        theirs = np.array([row[0] for row in cursor.fetchall()])
        apart_m = float(np.abs(by_engine() - theirs).max())
        engine_s, postgis_s = least_seconds(by_engine, by_postgis)
    return Comparison(len(pairs), len(pairs) / engine_s, len(pairs) / postgis_s, apart_m)


def main() -> None:
    """Print the comparison."""
    make_ready()
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    found = compare(count)
    print(f"{count} bores of 60 segments, each by 40 lines of 9 segments: {found.pairs} pairs, one core each")
    print(f"engine, polyline_distances_m   {found.engine_per_s:12,.0f} pairs/s")
    print(f"PostGIS, ST_3DDistance         {found.postgis_per_s:12,.0f} pairs/s")
    print(f"ratio                          {found.ratio:12.1f}")
    print(f"distances differ by at most    {found.apart_m:12.1e} m")


if __name__ == "__main__":
    main()
