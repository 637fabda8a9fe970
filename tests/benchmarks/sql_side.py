"""The invented jobs as PostGIS geometry in temporary tables, for what SQL alone answers."""

import shapely
from django.db import connection

from tests.benchmarks.invented_jobs import InventedJob

SAME_BORE = "FROM bench_bore AS bore JOIN bench_line AS line ON line.bore_id = bore.id"


def store_geometry(jobs: list[InventedJob]) -> None:
    """Fill the tables, analyse them, and keep the connection to one core."""
    lines = [(number, line) for number, job in enumerate(jobs) for line in job.lines_m]
    with connection.cursor() as cursor:
        cursor.execute("SET max_parallel_workers_per_gather = 0")
        cursor.execute("DROP TABLE IF EXISTS pg_temp.bench_bore, pg_temp.bench_line")
        cursor.execute("CREATE TEMPORARY TABLE bench_bore (id int PRIMARY KEY, path geometry(LineStringZ))")
        cursor.execute(
            "CREATE TEMPORARY TABLE bench_line"
            " (id int PRIMARY KEY, bore_id int NOT NULL, path geometry(LineStringZ))"
        )
        with cursor.copy("COPY bench_bore FROM STDIN") as copy:
            for number, job in enumerate(jobs):
                copy.write_row((number, shapely.to_wkb(shapely.LineString(job.bore_m), hex=True)))
        with cursor.copy("COPY bench_line FROM STDIN") as copy:
            for number, (bore, line) in enumerate(lines):
                copy.write_row((number, bore, shapely.to_wkb(shapely.LineString(line), hex=True)))
        cursor.execute("CREATE INDEX ON bench_line (bore_id)")
        cursor.execute("CREATE INDEX ON bench_line USING gist (path)")
        cursor.execute("ANALYZE bench_bore")
        cursor.execute("ANALYZE bench_line")
