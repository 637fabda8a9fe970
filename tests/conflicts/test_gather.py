"""The records read for many bores at once."""

import factory
import pytest
from django.contrib.gis.geos import LineString, MultiPolygon, Point, Polygon
from django.db import connection

from conflicts.assess import compute_bores
from conflicts.gather import gather
from tests import factories
from tests.factories import line, point

pytestmark = pytest.mark.django_db


def test_the_number_of_queries_does_not_grow_with_bores_or_marks(django_assert_num_queries):
    job = factories.small_job()
    one = [job.bores.get().pk]
    with django_assert_num_queries(QUERIES):
        gather(one)
    for north in range(1, 6):
        factories.BoreFactory(job=job, alignment=line((0, north), (factories.BORE_LENGTH_M, north)))
        factories.MarkFactory(job=job, geometry=line((10 * north, -15), (10 * north, 15)))
    other = factories.small_job()
    ids = [bore.pk for one in (job, other) for bore in one.bores.all()]
    with django_assert_num_queries(QUERIES):
        assert len(gather(ids)) == 7


# Bores with jobs and rules; requirements; tickets, their responses, the operators marked in them; pits; hole
# offsets, widths; holes near and the marks that they missed; marks near, holes, marks; strays; features and
# ground points near, and their records. At the sites: walks, variances, camera inspections, watches,
# passes, close-outs with what releases name, which bores have a rod.
QUERIES = 27


def test_lines_of_another_job_are_none_of_the_bores():
    job, other = factories.small_job(), factories.small_job()
    (bore,), (own,) = job.bores.all(), other.bores.all()
    gathered = gather([bore.pk, own.pk])
    assert [mark.ref for mark in gathered[bore.pk].marks] == [job.marks.get().ref]
    assert [mark.ref for mark in gathered[own.pk].marks] == [other.marks.get().ref]


def test_the_search_uses_the_index_on_the_marks_geography():
    factories.small_job()
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_seqscan = off")
        cursor.execute(
            "EXPLAIN SELECT id FROM locates_mark WHERE ST_DWithin(geometry::geography,"
            " ST_GeomFromText('LINESTRING(-78.5 38, -78.499 38)', 4326)::geography, 2)"
        )
        assert "mark_geography" in "\n".join(row[0] for row in cursor.fetchall())


def _job_across_the_180th_meridian():
    job = factories.JobFactory(mean_height_m=1600.0)
    operator = factories.FacilityOperatorFactory(job=job)
    west, east = 179.9995, -179.9995
    bore = factories.BoreFactory(
        job=job,
        alignment=LineString((west, -45.0), (east, -45.0), srid=4326),
        profile_stations_m=factory.LazyAttribute(lambda bore: [0.0, 20.0, 60.0, bore.alignment_length_m]),
    )
    mark = factories.MarkFactory(
        job=job, operator=operator, geometry=LineString((180.0, -45.0001), (180.0, -44.9999), srid=4326)
    )
    factories.TestHoleFactory(job=job, mark=mark, position=Point(-180.0, -45.0, srid=4326))
    half = [
        Polygon(((low, -45.001), (high, -45.001), (high, -44.999), (low, -44.999), (low, -45.001)))
        for low, high in ((179.999, 180.0), (-180.0, -179.999))
    ]
    ticket = factories.TicketFactory(job=job, area=MultiPolygon(*half, srid=4326))
    factories.ResponseFactory(ticket=ticket, operator=operator)
    return bore


def test_a_job_across_the_180th_meridian_is_one_place():
    bore = _job_across_the_180th_meridian()
    computed = compute_bores([bore.pk])[bore.pk].at(factories.PLANNED_START_AT)
    (crossing,) = computed.crossings
    assert crossing.verdict == "clear"
    assert crossing.clearance.station_m == pytest.approx(0.5 * bore.alignment_length_m, abs=1e-3)
    assert computed.cover.gaps_m == []
    assert computed.scene.inputs.tickets[0].responses[0].has_marks


def test_ground_points_beside_the_bore_are_its_ground_where_it_has_none_of_its_own():
    job = factories.small_job()
    bore = job.bores.get()
    factories.GroundPointFactory(job=job, position=point(100, 2.9), elevation_m=5.0)
    factories.GroundPointFactory(job=job, position=point(50, 3.2), elevation_m=9.0)
    scene = compute_bores([bore.pk])[bore.pk].scene
    assert scene.ground.at([0.0, 50.0, 100.0]) == pytest.approx([0.0, 2.5, 5.0], abs=1e-6)
    bore.ground_stations_m, bore.ground_elevations_m = [0.0], [7.0]
    bore.save()
    assert compute_bores([bore.pk])[bore.pk].scene.ground.at(50.0) == 7.0


def test_a_rod_plan_that_leaves_its_alignment_is_searched_where_it_goes():
    job = factories.JobFactory()
    # Heading due north from the entry, though the alignment runs east: the lines it meets lie to the north.
    bore = factories.RodBoreFactory(job=job, rod_headings_rad=[0.0, 0.0, 0.0])
    factories.MarkFactory(job=job, ref="N", geometry=line((-5, 40), (5, 40)))
    factories.MarkFactory(job=job, ref="E", geometry=line((40, -5), (40, 5)))
    computed = compute_bores([bore.pk])[bore.pk]
    assert [one.mark.ref for one in computed.crossings] == ["N"]
