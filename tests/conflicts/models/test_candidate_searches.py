"""Searches for marks near a bore go by an index, not through every row."""

import json

import pytest
from django.db import connection

from conflicts.models import Bore
from locates.models import FacilityOperator, Mark
from tests import factories

pytestmark = pytest.mark.django_db

SPREAD = 2000
NEAR_M = 5.0


def plan_of(sql, *params):
    """The names of the indexes, and the tables read through, in PostgreSQL's plan."""
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN (FORMAT JSON) {sql}", params)
        plan = cursor.fetchone()[0]
    root = (json.loads(plan) if isinstance(plan, str) else plan)[0]["Plan"]
    indexes, read_through, waiting = set(), set(), [root]
    while waiting:
        node = waiting.pop()
        indexes.add(node.get("Index Name"))
        if node["Node Type"] == "Seq Scan":
            read_through.add(node["Relation Name"])
        waiting.extend(node.get("Plans", ()))
    return indexes - {None}, read_through


def analysed(table):
    with connection.cursor() as cursor:
        cursor.execute(f"ANALYZE {table}")


@pytest.fixture
def many_marks():
    """Marks along 40 km of streets."""
    job = factories.JobFactory()
    operator: FacilityOperator = factories.FacilityOperatorFactory(job=job)
    Mark.objects.bulk_create(
        factories.MarkFactory.build(
            job=job, operator=operator, geometry=factories.line((20 * place, -5), (20 * place, 5))
        )
        for place in range(SPREAD)
    )
    analysed("locates_mark")
    return job


def test_marks_within_metres_of_a_bore_come_by_the_geography_index(many_marks):
    alignment = factories.line((0, 0), (100, 0))
    sql = (
        "SELECT ref FROM locates_mark"
        " WHERE ST_DWithin(geometry::geography, ST_GeomFromEWKT(%s)::geography, %s)"
    )
    indexes, read_through = plan_of(sql, alignment.ewkt, NEAR_M)
    assert indexes == {"mark_geography"}
    assert read_through == set()
    with connection.cursor() as cursor:
        cursor.execute(sql, [alignment.ewkt, NEAR_M])
        assert len(cursor.fetchall()) == 6


def test_marks_in_view_come_by_the_geometry_index(many_marks):
    in_view = Mark.objects.filter(geometry__bboverlaps=factories.box(-10, -10, 110, 10))
    sql, params = in_view.values("ref").order_by().query.sql_with_params()
    indexes, read_through = plan_of(sql, *params)
    assert len(indexes) == 1
    assert indexes.pop().startswith("locates_mark_geometry")
    assert read_through == set()
    assert in_view.count() == 6


def test_bores_within_metres_of_a_mark_come_by_the_geography_index():
    job = factories.JobFactory()
    Bore.objects.bulk_create(
        factories.BoreFactory.build(
            job=job,
            name=f"B{place}",
            alignment=factories.line((0, 20 * place), (100, 20 * place)),
            alignment_length_m=100.0,
        )
        for place in range(SPREAD)
    )
    analysed("conflicts_bore")
    indexes, read_through = plan_of(
        "SELECT name FROM conflicts_bore"
        " WHERE ST_DWithin(alignment::geography, ST_GeomFromEWKT(%s)::geography, %s)",
        factories.point(50, 0).ewkt,
        NEAR_M,
    )
    assert indexes == {"bore_geography"}
    assert read_through == set()
