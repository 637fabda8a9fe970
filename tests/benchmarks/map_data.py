"""The map's data of a large job, in bytes and time, against GeoJSON that PostGIS writes of the same records.

Run as `python tests/benchmarks/map_data.py [FEATURES]`; what it stores is rolled back. PostGIS writes every
record with ST_AsGeoJSON and every zone with ST_Buffer of the painted line, to eight decimals of a degree. The
map's data also moves lines to their test holes, words what is known of each record and has the crossings.
"""

import gzip
import json
import sys
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up
from psycopg import sql  # noqa: E402

from conflicts.drawing.map_layers import map_document  # noqa: E402
from conflicts.map_records import read_job_map  # noqa: E402
from locates.models import (  # noqa: E402
    FacilityOperator,
    FacilityType,
    Job,
    Linework,
    Mark,
    SurfaceFeature,
    TestHole,
)
from tests.factories import (  # noqa: E402
    BORE_LENGTH_M,
    MARKED_AT,
    MEASURED_AT,
    PLANNED_START_AT,
    BoreFactory,
    JobFactory,
    line,
    point,
)

TOLERANCE_M = 0.61
WIDTH_M = 0.1
CORNERS = 12  # of a painted line
PACKING = 6  # what the middleware that packs answers uses

# What PostGIS writes: the kind, its table, the geometry, and the columns that become properties.
ZONE = sql.SQL("ST_Buffer(geometry::geography, {})").format(TOLERANCE_M + WIDTH_M / 2)
FEATURES = (
    ("mark", "locates_mark", sql.SQL("geometry"), ("ref", "facility_type", "operator_id")),
    ("zone", "locates_mark", ZONE, ("ref",)),
    ("test_hole", "locates_testhole", sql.SQL("position"), ("ref", "found", "depth_to_top_m", "is_open")),
    ("surface_feature", "locates_surfacefeature", sql.SQL("position"), ("ref", "feature_type")),
    ("linework", "locates_linework", sql.SQL("geometry"), ("feature_type", "label")),
    ("bore", "conflicts_bore", sql.SQL("alignment"), ("name",)),
)
FEATURE = sql.SQL(
    "SELECT json_build_object('type', 'Feature', 'geometry', ST_AsGeoJSON({shape}, 8)::json,"
    " 'properties', json_build_object('kind', {kind}, {properties})) AS feature"
    " FROM {table} WHERE job_id = %(job)s"
)
COLLECTION = sql.SQL(
    "SELECT json_build_object('type', 'FeatureCollection', 'features', json_agg(feature))::text"
    " FROM ({features}) AS features"
)


@dataclass(frozen=True)
class Comparison:
    """Seconds, bytes and packed bytes of both; the number of features in each."""

    map_s: float
    geojson_s: float
    map_bytes: int
    geojson_bytes: int
    map_packed_bytes: int
    geojson_packed_bytes: int
    map_features: int
    geojson_features: int


def fill_job(job: Job, count: int) -> None:
    """Give a job so many features along a street, a bore among them.

    Of ten, five are marks, two test holes, two pieces of the base and one is a surface feature.
    """
    owner = FacilityOperator.objects.create(job=job, name="Brindle Utilities", emergency_phone="555-0100")
    kinds = [kind for kind in FacilityType if kind is not FacilityType.UNKNOWN]
    marks, holes, features, linework = [], [], [], []
    for number in range(count - 1):
        block, place = divmod(number, 10)
        east_m = 7.0 * block
        if place < 5:
            across = [(east_m + place, -12.0 + 2.0 * corner) for corner in range(CORNERS)]
            marks.append(_mark(job, owner, kinds[number % len(kinds)], number, across))
        elif place < 7:
            at = point(east_m + place - 5 + 0.3, 0.0)
            holes.append(_hole(job, marks[5 * block + place - 5], number, at))
        elif place < 9:
            curb = [(east_m + step, 12.0 * (2 * (place % 2) - 1)) for step in range(7)]
            linework.append(Linework(job=job, feature_type="curb", label="", geometry=line(*curb)))
        else:
            features.append(_feature(job, number, point(east_m, 5.0)))
    Mark.objects.bulk_create(marks, batch_size=1000)
    TestHole.objects.bulk_create(holes, batch_size=1000)
    SurfaceFeature.objects.bulk_create(features, batch_size=1000)
    Linework.objects.bulk_create(linework, batch_size=1000)
    BoreFactory(job=job, alignment=line((0.0, 0.0), (BORE_LENGTH_M, 0.0)))


def _mark(
    job: Job, owner: FacilityOperator, kind: str, number: int, across: list[tuple[float, float]]
) -> Mark:
    return Mark(
        job=job,
        operator=owner,
        ref=f"M{number}",
        facility_type=kind,
        marked_at=MARKED_AT,
        stated_width_m=WIDTH_M,
        geometry=line(*across),
    )


def _hole(job: Job, mark: Mark, number: int, at) -> TestHole:
    return TestHole(
        job=job,
        mark=mark,
        ref=f"H{number}",
        found=True,
        depth_to_top_m=0.9,
        measured_at=MEASURED_AT,
        is_open=True,
        position=at,
    )


def _feature(job: Job, number: int, at) -> SurfaceFeature:
    return SurfaceFeature(
        job=job, ref=f"S{number}", feature_type="valve", facility_type="potable_water", position=at
    )


def map_text(job: Job) -> bytes:
    """The job's map as the view sends it."""
    document = map_document(read_job_map(job, PLANNED_START_AT), PLANNED_START_AT)
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


def geojson_text(job: Job) -> bytes:
    """The same records as PostGIS writes them."""
    features = [
        FEATURE.format(
            shape=shape,
            kind=kind,
            table=sql.Identifier(table),
            properties=sql.SQL(", ").join(
                part for name in columns for part in (sql.Literal(name), sql.Identifier(name))
            ),
        )
        for kind, table, shape, columns in FEATURES
    ]
    with connection.cursor() as cursor:
        cursor.execute(COLLECTION.format(features=sql.SQL(" UNION ALL ").join(features)), {"job": job.pk})
        return cursor.fetchone()[0].encode()


def packed(text: bytes) -> int:
    """How many bytes are sent."""
    return len(gzip.compress(text, compresslevel=PACKING))


def compare(count: int) -> Comparison:
    """Measure both on one job; the caller rolls the records back."""
    job = JobFactory(tolerance_zone_m=TOLERANCE_M)
    fill_job(job, count)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    map_s, geojson_s = least_seconds(lambda: map_text(job), lambda: geojson_text(job))
    own, other = map_text(job), geojson_text(job)
    # What is computed from the records, as the zones are, is counted on neither side.
    tables = [
        table for name, table in json.loads(own).items() if isinstance(table, dict) and name != "uncovered"
    ]
    return Comparison(
        map_s,
        geojson_s,
        len(own),
        len(other),
        packed(own),
        packed(other),
        sum(len(table["rows"]) for table in tables),
        sum(feature["properties"]["kind"] != "zone" for feature in json.loads(other)["features"]),
    )


def main() -> None:
    """Print the comparison."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    with transaction.atomic():
        found = compare(count)
        transaction.set_rollback(True)
    print(f"{found.map_features} features, every mark with its tolerance zone")
    print(
        f"map data    {found.map_s:7.3f} s {found.map_bytes:12,d} bytes, packed {found.map_packed_bytes:10,d}"
    )
    print(
        f"ST_AsGeoJSON{found.geojson_s:7.3f} s {found.geojson_bytes:12,d} bytes,"
        f" packed {found.geojson_packed_bytes:10,d}"
    )


if __name__ == "__main__":
    main()
