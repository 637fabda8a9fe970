"""Which records lie near which bores: the searches in plan that PostGIS answers, many bores at a time."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

import numpy as np
from django.contrib.gis.geos import GEOSGeometry, LineString
from django.db import connection
from django.db.models import Max, Model
from psycopg import sql

from conflicts.engine.frame import frame_about
from conflicts.engine.path import Rods, path_of_rods
from conflicts.models import Bore
from locates.models import SurfaceFeature

# Added to every search: a line straight in the ground frame and a geodesic part by less than this over the
# length of any mark in a street.
SEARCH_SLACK_M = 1.0


@dataclass(frozen=True)
class Site:
    """A shape to search about: the plan of a bore, or one of its pits."""

    bore_id: UUID
    job_id: UUID
    shape: GEOSGeometry


def bore_sites(bores: Sequence[Bore]) -> list[Site]:
    """The plan of each bore: its alignment, or where rods decide, the path that they take."""
    return [Site(bore.pk, bore.job_id, _plan(bore)) for bore in bores]


def _plan(bore: Bore) -> LineString:
    if not bore.rod_lengths_m:
        return bore.alignment
    lon_lat = np.array(bore.alignment.coords)
    frame = frame_about([lon_lat])
    headings = np.array([np.nan if one is None else one for one in bore.rod_headings_rad], dtype=float)
    rods = Rods(0.0, np.array(bore.rod_lengths_m), np.array(bore.rod_pitches_ratio), headings)
    path = path_of_rods(frame.to_ground(lon_lat[:, 0], lon_lat[:, 1]), rods)
    return LineString(frame.to_geographic(path.points_m[:, :2]).tolist(), srid=4326)


def near(
    sites: Sequence[Site], model: type[Model], column: str, reach_m: Mapping[UUID, float] | float
) -> dict[UUID, set[UUID]]:
    """Ids of a job's records within reach of its bores, by bore.

    Parameters
    ----------
    sites : sequence of Site
    model : type of Model
        Whose live records are searched; it has a job.
    column : str
        Its geometry.
    reach_m : mapping of bore id to metres, or metres
        Plan distance on the spheroid; `SEARCH_SLACK_M` is added.
    """
    query = sql.SQL(
        "SELECT DISTINCT site.bore_id, record.id"
        " FROM unnest(%s::uuid[], %s::uuid[], %s::bytea[], %s::float8[])"
        " AS site(bore_id, job_id, shape, reach_m)"
        " JOIN {table} AS record ON record.job_id = site.job_id AND record.retired_at IS NULL"
        " AND ST_DWithin(record.{column}::geography,"
        " ST_GeomFromWKB(site.shape, 4326)::geography, site.reach_m)"
    ).format(table=sql.Identifier(model._meta.db_table), column=sql.Identifier(column))
    reaches = [reach_m if isinstance(reach_m, float) else reach_m[site.bore_id] for site in sites]
    found: dict[UUID, set[UUID]] = defaultdict(set)
    with connection.cursor() as cursor:
        cursor.execute(
            query,
            [
                [site.bore_id for site in sites],
                [site.job_id for site in sites],
                [bytes(site.shape.wkb) for site in sites],
                [reach + SEARCH_SLACK_M for reach in reaches],
            ],
        )
        for bore_id, record_id in cursor.fetchall():
            found[bore_id].add(record_id)
    return found


def farthest_hole_offsets_m(job_ids: Sequence[UUID]) -> dict[UUID, float]:
    """The greatest distance in plan of a found test hole from its mark, by job that has one."""
    query = (
        "SELECT hole.job_id, max(ST_Distance(hole.position::geography, mark.geometry::geography))"
        " FROM locates_testhole AS hole JOIN locates_mark AS mark ON mark.id = hole.mark_id"
        " WHERE hole.found AND hole.retired_at IS NULL AND mark.retired_at IS NULL"
        " AND hole.job_id = ANY(%s) GROUP BY hole.job_id"
    )
    with connection.cursor() as cursor:
        cursor.execute(query, [list(job_ids)])
        return dict(cursor.fetchall())


def widest_lines_m(job_ids: Sequence[UUID]) -> dict[UUID, float]:
    """The greatest width that a mark states or a test hole measured, by job that has one."""
    query = (
        "SELECT job_id, max(width_m) FROM ("
        " SELECT job_id, retired_at, stated_width_m AS width_m FROM locates_mark"
        " UNION ALL SELECT job_id, retired_at, outside_width_m FROM locates_testhole"
        ") AS widths WHERE job_id = ANY(%s) AND retired_at IS NULL AND width_m IS NOT NULL GROUP BY job_id"
    )
    with connection.cursor() as cursor:
        cursor.execute(query, [list(job_ids)])
        return dict(cursor.fetchall())


def widest_feature_errors_m(job_ids: Sequence[UUID]) -> dict[UUID, float]:
    """The greatest error that the position of a surface feature has, by job where one is stated."""
    stated = SurfaceFeature.objects.filter(job__in=job_ids, error_m__isnull=False)
    return dict(stated.order_by().values_list("job").annotate(Max("error_m")))


def marked_operators(job_ids: Sequence[UUID]) -> set[tuple[UUID, UUID]]:
    """Pairs of ticket and operator where a mark of the operator lies in the ticket's work area."""
    query = (
        "SELECT DISTINCT ticket.id, mark.operator_id FROM locates_ticket AS ticket"
        " JOIN locates_mark AS mark ON mark.job_id = ticket.job_id"
        " AND ST_Intersects(ticket.area::geography, mark.geometry::geography)"
        " WHERE ticket.job_id = ANY(%s) AND ticket.retired_at IS NULL AND mark.retired_at IS NULL"
    )
    with connection.cursor() as cursor:
        cursor.execute(query, [list(job_ids)])
        return set(cursor.fetchall())
