"""The one place that reads a job's records from PostGIS: the inputs of many bores in a few queries.

PostGIS finds the candidates in plan, on the spheroid; which of them count is the engine's to say.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.contrib.gis.geos import Polygon

from conflicts.candidates import (
    Site,
    bore_sites,
    marked_operators,
    near,
    widest_feature_errors_m,
)
from conflicts.engine.errors import EngineError
from conflicts.gather_beside import with_marks_beside
from conflicts.gather_marks import hole_input, in_order, mark_reaches_m, marks_by_id, position, positions
from conflicts.gather_site import gather_site
from conflicts.hole_passes import HoleSize, hole_as_planned
from conflicts.inputs import (
    DEFAULT_OUTSIDE_M,
    BoreInputs,
    JobInput,
    MarkInput,
    PitInput,
    Position,
    RequirementInput,
    ResponseInput,
    RigInput,
    RodsInput,
    RuleInput,
    SurfaceFeatureInput,
    TestHoleInput,
    TicketInput,
)
from conflicts.models import Bore, Pit
from conflicts.rod_log import RodLog
from conflicts.scene import GROUND_POINT_REACH_M
from conflicts.site_records import SiteRecords
from conflicts.snapshot import one_snapshot
from conflicts.surface_check import NEAR_FEATURE_M, NEAR_STRAY_M
from locates.models import (
    ClearanceRequirement,
    GroundPoint,
    Job,
    JurisdictionRule,
    Mark,
    Response,
    SurfaceFeature,
    TestHole,
    Ticket,
)


class UnassessableError(EngineError):
    """A bore whose records lack what no figure can be computed without."""


@dataclass(frozen=True)
class _Beside:
    """What lies beside each bore and what was recorded of it, by bore."""

    pits: Mapping[UUID, list[PitInput]]
    marks: Mapping[UUID, list[MarkInput]]
    strays: Mapping[UUID, list[TestHoleInput]]
    features: Mapping[UUID, list[SurfaceFeatureInput]]
    ground_points: Mapping[UUID, list[tuple[float, float, float]]]
    sites: Mapping[UUID, SiteRecords]
    sizes: Mapping[UUID, HoleSize]


def gather(bore_ids: Iterable[UUID], rods_until: datetime | None = None) -> dict[UUID, BoreInputs]:
    """The inputs of bores.

    Parameters
    ----------
    bore_ids : iterable of UUID
        Ids that are not there are left out.
    rods_until : datetime, optional
        The rods are those up to then; else all.

    Returns
    -------
    dict of UUID to BoreInputs

    Raises
    ------
    UnassessableError
        A job without any tolerance zone.

    Notes
    -----
    All of it is one state of the database.
    """
    with one_snapshot():
        return inputs_of(bores_to_read(bore_ids), rods_until)


def bores_to_read(bore_ids: Iterable[UUID]) -> list[Bore]:
    """The bores of ids with their jobs."""
    found = Bore.objects.filter(pk__in=list(bore_ids)).select_related("job__jurisdiction")
    return list(found.order_by("job", "name"))


def inputs_of(bores: Sequence[Bore], rods_until: datetime | None = None) -> dict[UUID, BoreInputs]:
    """The inputs of bores as they are in memory, with what the records hold beside them."""
    if not bores:
        return {}
    jobs = _jobs({bore.job_id: bore.job for bore in bores})
    tickets = _tickets(list(jobs))
    pits = list(Pit.objects.filter(bore__in=bores).order_by("bore", "end"))
    plans = bore_sites(bores)
    job_of = {bore.pk: bore.job_id for bore in bores}
    sites = [*plans, *(Site(pit.bore_id, job_of[pit.bore_id], pit.area) for pit in pits)]
    holes = near(sites, TestHole, "position", NEAR_STRAY_M)
    sites_of = gather_site(bores, rods_until)
    sizes = {bore.pk: hole_as_planned(bore.final_diameter_m, sites_of[bore.pk].passes) for bore in bores}
    reaches_m = mark_reaches_m(bores, jobs, sizes)
    beside = _Beside(
        pits=_pits(pits),
        marks=_marks(plans, reaches_m, _missed_marks(holes)),
        strays=_strays(holes),
        features=_features(sites),
        ground_points=_ground_points(plans),
        sites=sites_of,
        sizes=sizes,
    )
    found = {bore.pk: _bore_inputs(bore, jobs[bore.job_id], tickets[bore.job_id], beside) for bore in bores}
    return with_marks_beside(found, bores, reaches_m)


def inputs_by_log(bore: Bore, inputs: BoreInputs, log: RodLog) -> BoreInputs:
    """The inputs of a bore with another log of its rods, and the marks that are near those."""
    sizes = {bore.pk: hole_as_planned(bore.final_diameter_m, inputs.site.passes)}
    reaches_m = mark_reaches_m([bore], {bore.job_id: inputs.job}, sizes)
    other = replace(inputs, site=replace(inputs.site, log=log), marks_beside=())
    return with_marks_beside({bore.pk: other}, [bore], reaches_m)[bore.pk]


def _bore_inputs(bore: Bore, job: JobInput, tickets: list[TicketInput], beside: _Beside) -> BoreInputs:
    size = beside.sizes[bore.pk]
    rods = None
    if bore.rod_lengths_m:
        rods = RodsInput(
            bore.rods_entry_elevation_m,
            tuple(bore.rod_lengths_m),
            tuple(bore.rod_pitches_ratio),
            tuple(bore.rod_headings_rad),
        )
    ground = tuple(zip(bore.ground_stations_m, bore.ground_elevations_m, strict=True))
    return BoreInputs(
        job=job,
        name=bore.name,
        alignment=positions(bore.alignment),
        final_diameter_m=bore.final_diameter_m,
        ground=ground,
        ground_points=() if ground else tuple(sorted(beside.ground_points[bore.pk])),
        profile_by=bore.profile_by,
        profile=tuple(zip(bore.profile_stations_m, bore.profile_values_m, strict=True)),
        rods=rods,
        rig=RigInput(
            rod_length_m=bore.rod_length_m,
            bend_radius_m=bore.bend_radius_m,
            entry_pitch_ratio_min=bore.entry_pitch_ratio_min,
            entry_pitch_ratio_max=bore.entry_pitch_ratio_max,
            exit_pitch_ratio_min=bore.exit_pitch_ratio_min,
            exit_pitch_ratio_max=bore.exit_pitch_ratio_max,
            minimum_cover_m=bore.minimum_cover_m,
            bit_lead_m=bore.bit_lead_m,
        ),
        planned_finish_at=bore.planned_finish_at,
        pits=tuple(beside.pits[bore.pk]),
        tickets=tuple(tickets),
        marks=tuple(beside.marks[bore.pk]),
        stray_holes=tuple(beside.strays[bore.pk]),
        surface_features=tuple(beside.features[bore.pk]),
        site=beside.sites[bore.pk],
        wider=size if size.widest_m > bore.final_diameter_m else None,
    )


def _jobs(jobs: Mapping[UUID, Job]) -> dict[UUID, JobInput]:
    requirements: dict[UUID, list[RequirementInput]] = defaultdict(list)
    asked = ClearanceRequirement.objects.filter(job__in=jobs).select_related("operator")
    for one in asked.order_by("operator__name", "facility_type"):
        operator = None if one.operator is None else one.operator.name
        requirements[one.job_id].append(
            RequirementInput(operator, one.facility_type, one.crossing_m, one.alongside_m)
        )
    return {key: _job(job, tuple(requirements[key])) for key, job in jobs.items()}


def _job(job: Job, requirements: tuple[RequirementInput, ...]) -> JobInput:
    tolerance_m, reach_m = job.tolerance_width_m, job.reach_m
    if tolerance_m is None or reach_m is None:
        raise UnassessableError(
            f"job {job.name}: the rule of {job.jurisdiction.code} has no tolerance zone; enter one in the job"
        )
    return JobInput(
        name=job.name,
        time_zone=job.time_zone,
        show_units=job.show_units,
        mean_height_m=job.mean_height_m,
        tolerance_zone_m=tolerance_m,
        tolerance_is_sure=job.tolerance_zone_m is not None or job.jurisdiction.tolerance_is_sure,
        reach_m=reach_m,
        spacing_m=job.spacing_rule_m,
        default_outside_m={**DEFAULT_OUTSIDE_M, **job.default_outside_m},
        bore_horizontal_m=job.bore_horizontal_m,
        bore_vertical_m=job.bore_vertical_m,
        test_hole_m=job.test_hole_m,
        slope_ratio=job.slope_ratio,
        requirements=requirements,
        rule=_rule(job.jurisdiction),
    )


def _rule(rule: JurisdictionRule) -> RuleInput:
    return RuleInput(
        code=rule.code,
        version=rule.version,
        citation=rule.citation,
        boring_must_be_declared=rule.boring_must_be_declared,
        every_line_must_be_exposed=rule.every_line_must_be_exposed,
        sewer_camera_required=rule.sewer_camera_required,
    )


def _tickets(job_ids: Sequence[UUID]) -> Mapping[UUID, list[TicketInput]]:
    marked = marked_operators(job_ids)
    responses: dict[UUID, list[ResponseInput]] = defaultdict(list)
    latest = Response.objects.filter(ticket__job__in=job_ids).latest_each().select_related("operator")
    for one in latest:
        responses[one.ticket_id].append(
            ResponseInput(
                one.operator.name,
                one.response,
                one.responded_at,
                has_marks=(one.ticket_id, one.operator_id) in marked,
            )
        )
    tickets: dict[UUID, list[TicketInput]] = defaultdict(list)
    for ticket in Ticket.objects.filter(job__in=job_ids).order_by("number"):
        tickets[ticket.job_id].append(
            TicketInput(
                number=ticket.number,
                response_due_at=ticket.response_due_at,
                legal_start_at=ticket.legal_start_at,
                expires_at=ticket.expires_at,
                ticket_kind=ticket.ticket_kind,
                work_finished_at=ticket.work_finished_at,
                boring_declared=ticket.boring_declared,
                polygons=tuple(_rings(polygon) for polygon in ticket.area),
                responses=tuple(sorted(responses[ticket.pk], key=lambda answer: answer.operator)),
            )
        )
    return tickets


def _marks(
    plans: Sequence[Site], reaches_m: Mapping[UUID, float], missed: Mapping[UUID, set[UUID]]
) -> Mapping[UUID, list[MarkInput]]:
    """Marks that may lie in the tolerance zone of each bore, and those that a test hole near it missed."""
    found = near(plans, Mark, "geometry", reaches_m)
    for bore_id, mark_ids in missed.items():
        found[bore_id] |= mark_ids
    return in_order(found, marks_by_id(set().union(*found.values())))


def _missed_marks(holes: Mapping[UUID, set[UUID]]) -> Mapping[UUID, set[UUID]]:
    """Ids of the marks that test holes near each bore did not find, by bore."""
    missing = TestHole.objects.missed().filter(pk__in=set().union(*holes.values()))
    mark_of = dict(missing.values_list("pk", "mark_id"))
    return {bore_id: {mark_of[key] for key in ids if key in mark_of} for bore_id, ids in holes.items()}


def _strays(holes: Mapping[UUID, set[UUID]]) -> Mapping[UUID, list[TestHoleInput]]:
    """Those of the test holes near each bore that found a line of no mark."""
    strays = TestHole.objects.of_no_mark().filter(pk__in=set().union(*holes.values()))
    return in_order(holes, {hole.pk: hole_input(hole) for hole in strays})


def _features(sites: Sequence[Site]) -> Mapping[UUID, list[SurfaceFeatureInput]]:
    errors_m = widest_feature_errors_m([site.job_id for site in sites])
    reach_m = {site.bore_id: NEAR_FEATURE_M + errors_m.get(site.job_id, 0.0) for site in sites}
    found = near(sites, SurfaceFeature, "position", reach_m)
    wanted = set().union(*found.values())
    records = SurfaceFeature.objects.filter(pk__in=wanted).select_related("explained_by_mark")
    features = {}
    for one in records:
        explained = None if one.explained_by_mark is None else one.explained_by_mark.facility_type
        features[one.pk] = SurfaceFeatureInput(
            ref=one.ref,
            feature_type=one.feature_type,
            facility_type=one.facility_type,
            explained_by_type=explained,
            signed_off_reason=one.signed_off_reason,
            error_m=one.error_m,
            position=position(one.position),
        )
    return in_order(found, features)


def _ground_points(plans: Sequence[Site]) -> Mapping[UUID, list[tuple[float, float, float]]]:
    """Longitude, latitude and elevation of the ground points beside each bore."""
    found = near(plans, GroundPoint, "position", GROUND_POINT_REACH_M)
    wanted = set().union(*found.values())
    points = {
        point.pk: (*position(point.position), point.elevation_m)
        for point in GroundPoint.objects.filter(pk__in=wanted)
    }
    beside: dict[UUID, list[tuple[float, float, float]]] = defaultdict(list)
    for bore_id, ids in found.items():
        beside[bore_id] = sorted(points[key] for key in ids)
    return beside


def _pits(pits: Iterable[Pit]) -> Mapping[UUID, list[PitInput]]:
    beside: dict[UUID, list[PitInput]] = defaultdict(list)
    for pit in pits:
        beside[pit.bore_id].append(PitInput(pit.end, pit.depth_m, _rings(pit.area)))
    return beside


def _rings(polygon: Polygon) -> tuple[tuple[Position, ...], ...]:
    return tuple(positions(ring) for ring in polygon)
