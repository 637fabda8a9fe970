"""The one place that reads a job's records for its map: set-wise, in a fixed number of queries."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

import numpy as np
import shapely
from django.contrib.gis.db.models.functions import AsWKB
from django.contrib.gis.geos import Polygon
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.urls import reverse

from conflicts.bore_states import computed_states
from conflicts.candidates import bore_sites
from conflicts.checks import Assessed
from conflicts.drawing.map_drilled import map_drilled, map_drilled_crossings
from conflicts.drawing.map_input import (
    MapBore,
    MapCrossing,
    MapDrilled,
    MapDrilledCrossing,
    MapFeature,
    MapHole,
    MapJob,
    MapLinework,
    MapMark,
    MapPit,
    MapRecords,
    MapTicket,
)
from conflicts.drilled_beside import drilled_beside
from conflicts.drilled_told import told_as_drilled
from conflicts.engine.errors import EngineError
from conflicts.engine.frame import frame_about
from conflicts.gather import UnassessableError, gather
from conflicts.gather_rods import gather_rods
from conflicts.inputs import DEFAULT_OUTSIDE_M, BoreInputs
from conflicts.models import Assessment, Bore, Crossing, Pit
from conflicts.recently_computed import computed
from locates.exchange.moments import write_moment
from locates.facility_codes import LETTER_CODES
from locates.models import Job, Linework, Mark, SurfaceFeature, TestHole, Ticket

# The map of a bore shows what lies within this distance of the box round its alignment: 200 ft.
BESIDE_BORE_M = 60.96

# Gives a bore as it is assessed; None where its records give no figure.
AssessedOf = Callable[[UUID], Assessed | None]


def read_job_map(job: Job, at: datetime, *, shows_rods: bool = True) -> MapRecords:
    """All that the map of a job shows; ``shows_rods`` for people who may see the path that was drilled."""
    return _read(job, None, None, at, shows_rods=shows_rods)


def read_bore_map(bore: Bore, at: datetime, *, shows_rods: bool = True) -> MapRecords:
    """What the map of a bore shows: the records of its job round it; of crossings and rods its own."""
    return _read(bore.job, bore, box_round(bore), at, shows_rods=shows_rods)


def read_past_map(job: Job, bore: Bore | None, at: datetime, *, shows_rods: bool = True) -> MapRecords:
    """The same of a job or a bore inside `locates.as_of.as_of`: crossings come from the records of then."""
    box = None if bore is None else box_round(bore)
    return _read(job, bore, box, at, shows_rods=shows_rods, is_past=True)


def _read(
    job: Job,
    bore: Bore | None,
    box: Polygon | None,
    at: datetime,
    *,
    shows_rods: bool,
    is_past: bool = False,
) -> MapRecords:
    bores = list(inside(Bore.objects.filter(job=job), "alignment", box).order_by("name"))
    owners = bores if bore is None else [one for one in bores if one.pk == bore.pk]
    read = _computed_crossings if is_past else _stored_crossings
    crossings, problems, assessed_of = read(owners, at)
    drilled, drilled_crossings = _drilled(job, owners, assessed_of, at if is_past else None)
    pits = Pit.objects.filter(bore__in=bores).order_by("bore__name", "end")
    return MapRecords(
        job=_job(job),
        bore_id=None if bore is None else bore.pk,
        facilities=[(kind.value, letter, kind.label) for kind, letter in LETTER_CODES.items()],
        marks=_marks(job, box),
        holes=_holes(job, box),
        features=_features(job, box),
        tickets=_tickets(job, box, at),
        linework=_linework(job, box),
        bores=_bores(bores, problems, at if is_past else None),
        pits=_shaped(MapPit, pits.values_list("bore_id", "end", "depth_m", AsWKB("area"))),
        crossings=crossings,
        drilled=drilled if shows_rods else [],
        drilled_crossings=drilled_crossings,
    )


def _job(job: Job) -> MapJob:
    return MapJob(
        name=job.name,
        show_units=job.show_units,
        time_zone=job.time_zone,
        mean_height_m=job.mean_height_m,
        tolerance_zone_m=job.tolerance_width_m,
        tolerance_is_sure=job.tolerance_zone_m is not None or job.jurisdiction.tolerance_is_sure,
        reach_m=job.reach_m,
        outside_m={**DEFAULT_OUTSIDE_M, **job.default_outside_m},
    )


def box_round(bore: Bore) -> Polygon:
    """The upright box about a bore's alignment, grown on every side."""
    frame = frame_about([bore.alignment.coords], bore.job.mean_height_m)
    lon_lat = np.array(bore.alignment.coords)
    points_m = frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])
    low_m, high_m = points_m.min(axis=0) - BESIDE_BORE_M, points_m.max(axis=0) + BESIDE_BORE_M
    corners_m = [(low_m[0], low_m[1]), (high_m[0], low_m[1]), (high_m[0], high_m[1]), (low_m[0], high_m[1])]
    corners = frame.to_geographic(corners_m).tolist()
    return Polygon([*corners, corners[0]], srid=4326)


def inside(records: QuerySet[Any], column: str, box: Polygon | None) -> QuerySet[Any]:
    """The records that reach into a box; all of them where there is none."""
    return records if box is None else records.filter(**{f"{column}__intersects": box})


def _shaped(record: type[Any], rows: Iterable[tuple[Any, ...]]) -> list[Any]:
    """Records from rows that end in their geometry, the geometries read all at once."""
    found = list(rows)
    shapes = shapely.from_wkb([bytes(row[-1]) for row in found])
    return [record(*row[:-1], shape) for row, shape in zip(found, shapes, strict=True)]


def _marks(job: Job, box: Polygon | None) -> list[MapMark]:
    marks = inside(Mark.objects.filter(job=job), "geometry", box).order_by("ref")
    return _shaped(
        MapMark,
        marks.values_list(
            "id",
            "ref",
            "operator__name",
            "facility_type",
            "stated_width_m",
            "stated_height_m",
            "is_intact",
            AsWKB("geometry"),
        ),
    )


def _holes(job: Job, box: Polygon | None) -> list[MapHole]:
    """Test holes; those outside of the box too that were dug for a mark which reaches into it."""
    holes = TestHole.objects.filter(job=job)
    if box is not None:
        marks = inside(Mark.objects.filter(job=job), "geometry", box)
        holes = holes.filter(Q(position__intersects=box) | Q(mark__in=marks))
    return _shaped(
        MapHole,
        holes.order_by("ref").values_list(
            "ref",
            "mark_id",
            "mark__ref",
            "found",
            "depth_to_top_m",
            "dug_depth_m",
            "outside_width_m",
            "outside_height_m",
            "is_open",
            AsWKB("position"),
        ),
    )


def _features(job: Job, box: Polygon | None) -> list[MapFeature]:
    features = inside(SurfaceFeature.objects.filter(job=job), "position", box).order_by("ref")
    rows = features.values_list(
        "ref",
        "feature_type",
        "facility_type",
        "explained_by_mark__facility_type",
        "signed_off_reason",
        "error_m",
        AsWKB("position"),
    )
    names = dict(SurfaceFeature._meta.get_field("feature_type").choices)
    return [one._replace(feature_type=names[one.feature_type]) for one in _shaped(MapFeature, rows)]


def _tickets(job: Job, box: Polygon | None, at: datetime) -> list[MapTicket]:
    in_force = Exists(Ticket.objects.in_force(at).filter(pk=OuterRef("pk")))
    tickets = inside(Ticket.objects.filter(job=job), "area", box).order_by("number")
    return _shaped(
        MapTicket,
        tickets.values_list(
            "number",
            "legal_start_at",
            "expires_at",
            "ticket_kind",
            "work_finished_at",
            in_force,
            AsWKB("area"),
        ),
    )


def _linework(job: Job, box: Polygon | None) -> list[MapLinework]:
    linework = inside(Linework.objects.filter(job=job), "geometry", box).order_by("feature_type", "label")
    return _shaped(MapLinework, linework.values_list("feature_type", "label", AsWKB("geometry")))


def past_address(bore: Bore, at: datetime) -> str:
    """The page of a bore as it stood at a moment."""
    return reverse("conflicts:bore-as-of", args=[bore.pk], query={"at": write_moment(at)})


def _bores(bores: Sequence[Bore], problems: dict[UUID, str], past_at: datetime | None) -> list[MapBore]:
    plans = shapely.from_wkb([bytes(site.shape.wkb) for site in bore_sites(bores)])
    return [
        MapBore(
            bore_id=bore.pk,
            name=bore.name,
            final_diameter_m=bore.final_diameter_m,
            address=_page(bore, past_at),
            no_crossings_because=problems.get(bore.pk, ""),
            finish_at=bore.planned_finish_at,
            shape=plan,
        )
        for bore, plan in zip(bores, plans, strict=True)
    ]


def _drilled(
    job: Job, bores: Sequence[Bore], assessed_of: AssessedOf, past_at: datetime | None
) -> tuple[list[MapDrilled], list[MapDrilledCrossing]]:
    """What was drilled of bores, and what it meets; one of no figure says so where its crossings would be."""
    for bore in bores:
        bore.job = job
    paths: list[MapDrilled] = []
    crossings: list[MapDrilledCrossing] = []
    logs = gather_rods(bores)
    for bore in bores:
        if not (logs[bore.pk].rods or logs[bore.pk].legs):
            continue
        assessed = assessed_of(bore.pk)
        if assessed is not None:
            paths += map_drilled(
                bore.pk, bore.name, assessed.scene, drilled_beside(assessed.scene, logs[bore.pk])
            )
            page = _page(bore, past_at)
            crossings += map_drilled_crossings(bore.pk, told_as_drilled(assessed), page)
    return paths, crossings


def _page(bore: Bore, past_at: datetime | None) -> str:
    """The page of a bore, or the one of it as it stood."""
    return past_address(bore, past_at) if past_at else reverse("conflicts:bore", args=[bore.pk])


def _current_assessments(
    bores: Sequence[Bore], inputs: dict[UUID, BoreInputs]
) -> tuple[list[UUID], dict[UUID, str]]:
    """Assessments that are of the records as they are now, and why the other bores show no crossings."""
    stored = Assessment.objects.filter(bore__in=bores).values_list("id", "bore_id", "inputs_digest")
    current = {bore_id: key for key, bore_id, digest in stored if digest == inputs[bore_id].digest()}
    problems = {bore.pk: "its crossings are being recalculated" for bore in bores if bore.pk not in current}
    return list(current.values()), problems


def _computed_crossings(
    bores: Sequence[Bore], at: datetime
) -> tuple[list[MapCrossing], dict[UUID, str], AssessedOf]:
    """Crossings as the records give them here, and why a bore has none."""
    states = computed_states(bores, at)
    crossings = [
        MapCrossing(
            bore_id=state.bore.pk,
            sequence=sequence,
            mark_id=UUID(found.mark.mark_id),
            mark_ref=found.mark.ref,
            operator=found.mark.operator,
            station_m=found.clearance.station_m,
            worst_case_m=found.clearance.worst_case_m,
            required_m=found.required_m,
            verdict=str(found.verdict),
            longitude_deg=found.longitude_deg,
            latitude_deg=found.latitude_deg,
            address=f"{past_address(state.bore, at)}#crossing-{sequence + 1}",
        )
        for state in states
        if state.assessed is not None
        for sequence, found in enumerate(state.assessed.crossings)
    ]
    assessed = {state.bore.pk: state.assessed for state in states}
    return crossings, {state.bore.pk: state.refusal for state in states if state.refusal}, assessed.get


def _stored_crossings(
    bores: Sequence[Bore], at: datetime
) -> tuple[list[MapCrossing], dict[UUID, str], AssessedOf]:
    """Crossings last stored, while they are of the records as they are now, and why a bore has none."""
    try:
        inputs = gather([bore.pk for bore in bores])
    except UnassessableError as error:
        return [], {bore.pk: str(error) for bore in bores}, lambda _: None
    assessments, problems = _current_assessments(bores, inputs)
    rows = Crossing.objects.filter(assessment__in=assessments).order_by("bore__name", "sequence")
    return (
        [
            MapCrossing(*row, address=reverse("conflicts:crossing", args=row[:2]))
            for row in rows.values_list(
                "bore_id",
                "sequence",
                "mark_id",
                "mark_ref",
                "operator",
                "station_m",
                "worst_case_m",
                "required_m",
                "verdict",
                "longitude_deg",
                "latitude_deg",
            )
        ],
        problems,
        lambda bore_id: _assessed(inputs[bore_id], at),
    )


def _assessed(inputs: BoreInputs, at: datetime) -> Assessed | None:
    try:
        return computed(inputs).at(at, inputs.site)
    except EngineError:
        return None
