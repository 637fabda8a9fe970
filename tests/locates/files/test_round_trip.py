"""Records that go out in a format come back through the import as the same records."""

import pytest
from shapely.geometry import shape

from locates.exchange.job_documents import locates_features
from locates.exchange.vector_export import FORMATS, export_records
from locates.exchange.vector_files import read_tables
from locates.exchange.vector_import import check_import, store_import
from locates.exchange.vector_kinds import KINDS
from locates.exchange.vector_mapping import FIXED, NUMBERED, Source
from locates.exchange.vector_shapes import system_of
from tests import factories
from tests.surveyed_files import confirmed

pytestmark = pytest.mark.django_db

# Virginia South, US survey feet: the place of the factories.
STATE_PLANE = "2284"
# A tenth of a millimetre: what 15 digits of a US survey foot at 10,000 km leave is a millionth of it.
SAME_DEG = 1e-9

FULL = [
    *(("test_hole", name) for name in ("csv", "geojson", "gpkg", "shapefile", "kml", "gpx")),
    *(("mark", name) for name in ("csv", "gpkg", "shapefile")),
    *(("ground_point", name) for name in ("csv", "gpx")),
    *(("linework", name) for name in ("kml", "shapefile")),
]


@pytest.fixture
def job():
    made = factories.small_job()
    operator = made.operators.get()
    ticket = made.tickets.get()
    factories.MarkFactory(
        job=made,
        ref="+1 é",
        operator=operator,
        ticket=ticket,
        is_intact=None,
        stated_depth_m=1 / 3,
        geometry=factories.point(20, 3),
        located_by="=R. Pell",
    )
    factories.TestHoleFactory(
        job=made,
        ref="H none",
        found=False,
        depth_to_top_m=None,
        dug_depth_m=1.3716,
        is_open=False,
        position=factories.point(52, 4),
        measured_by="",
    )
    factories.GroundPointFactory(job=made, elevation_m=-1.25, position=factories.point(30, 0))
    factories.LineworkFactory(
        job=made, feature_type="building", label="No. 4", geometry=factories.box(10, 8, 20, 16)
    )
    return made  # fmt: skip


@pytest.fixture
def elsewhere(job):
    """A second job at the same place, with the tickets, operators and marks that records name."""
    other = factories.JobFactory()
    operator = factories.FacilityOperatorFactory(job=other, name=job.operators.get().name)
    ticket = factories.TicketFactory(job=other, number=job.tickets.get().number)
    for mark in job.marks.order_by("ref"):
        factories.MarkFactory(
            job=other, ref=mark.ref, operator=operator, ticket=ticket, geometry=mark.geometry
        )
    return other


def features(job, kind):
    found = [one for one in locates_features(job) if one["properties"]["kind"] == kind]
    return sorted(found, key=lambda one: str(one["properties"]))


def assert_same(found, wanted):
    for one, other in zip(found, wanted, strict=True):
        assert one["properties"].keys() == other["properties"].keys()
        for name, value in other["properties"].items():
            # A dBASE number has 15 decimals, a number of KML 15 digits.
            is_number = isinstance(value, float)
            assert one["properties"][name] == (pytest.approx(value, rel=1e-14) if is_number else value), name
        # A Shapefile's areas run the other way round.
        shapes = [shape(feature["geometry"]).normalize() for feature in (one, other)]
        assert shapes[0].equals_exact(shapes[1], SAME_DEG)


@pytest.mark.parametrize(("kind", "format_name"), FULL)
def test_every_field_comes_back_from_a_format_that_carries_fields(job, elsewhere, kind, format_name):
    if kind == "mark":
        elsewhere.marks.all().delete()
    name, raw = export_records(job, KINDS[kind], format_name, STATE_PLANE)
    stored = 0
    for table in read_tables(name, raw):
        chosen = {"epsg": STATE_PLANE, "unit": "us_survey_foot"} if table.system is None else {}
        mapping = confirmed(table, kind, job=elsewhere, **chosen)
        stored += store_import(elsewhere, table, KINDS[kind], mapping, by=None)
    assert stored == len(features(job, kind)) > 1
    assert_same(features(elsewhere, kind), features(job, kind))


@pytest.mark.parametrize("kind", ["mark", "ground_point"])
def test_dxf_carries_shapes_layers_and_ground_elevations(job, kind):
    name, raw = export_records(job, KINDS[kind], "dxf", STATE_PLANE)
    (table,) = read_tables(name, raw)
    mapping = confirmed(table, kind, epsg=STATE_PLANE, unit="us_survey_foot", units={"elevation_m": "m"})
    mapping.sources.update({"ref": Source(NUMBERED, "D"), "marked_at": Source(FIXED, "2026-11-04T15:00Z")})
    checked = check_import(job, table, KINDS[kind], mapping)
    wanted = [one for one in locates_features(job) if one["properties"]["kind"] == kind]
    if kind == "ground_point":
        assert sorted(one["properties"]["elevation_m"] for one in checked.features) == [-1.25, 0.0]
        assert not checked.errors
    else:
        assert [row.values[table.columns.index("Layer")] for row in table.rows] == [
            one["properties"]["facility_type"] for one in wanted
        ]


@pytest.mark.parametrize("format_name", sorted(FORMATS))
def test_the_same_records_give_the_same_bytes(job, format_name):
    kind = KINDS["ground_point"]
    assert export_records(job, kind, format_name, STATE_PLANE) == export_records(
        job, kind, format_name, STATE_PLANE
    )


def test_columns_name_their_units_and_the_file_its_system(job):
    name, raw = export_records(job, KINDS["test_hole"], "csv", STATE_PLANE)
    header = raw.decode().splitlines()[0].split(",")
    assert name == "test_holes_epsg2284.csv"
    assert header[:2] == ["x_usft", "y_usft"]
    assert header[-1] == "crs"
    assert {"depth_to_top_m", "outside_width_m", "error_m"} <= set(header)
    assert all(name.endswith("_m") for name in header if "depth" in name or "width" in name)


def test_a_csv_that_the_program_wrote_brings_its_system_but_its_unit_is_still_asked_for(job):
    (table,) = read_tables(*export_records(job, KINDS["test_hole"], "csv", STATE_PLANE))
    mapping = confirmed(table, "test_hole")
    assert (mapping.epsg, mapping.unit) == (STATE_PLANE, "")


def test_a_geopackage_names_the_system_that_was_chosen(job):
    (table,) = read_tables(*export_records(job, KINDS["linework"], "gpkg", "6592"))
    assert system_of(table, confirmed(table, "linework")).epsg == 6592


def test_retired_records_stay_out_of_an_export(job):
    job.ground_points.update(retired_at=factories.MARKED_AT)
    with pytest.raises(ValueError, match="no ground points on this job"):
        export_records(job, KINDS["ground_point"], "csv", STATE_PLANE)
