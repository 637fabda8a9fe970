"""From the records of this package to the job file's document."""

import json
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from django.contrib.gis.geos import GEOSGeometry, MultiPolygon

from locates.exchange.job_records import UNCERTAINTY_MEMBERS, Properties
from locates.exchange.moments import write_moment
from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    Linework,
    Mark,
    Response,
    SurfaceFeature,
    TestHole,
    Ticket,
)


def job_members(job: Job) -> Properties:
    """The file's job: settings, uncertainty, requirements and operators."""
    return known({
        "name": job.name,
        "organisation": job.organisation.name,
        "jurisdiction": job.jurisdiction.code,
        "time_zone": job.time_zone,
        "mean_height_m": job.mean_height_m,
        "datum": job.datum,
        "show_units": job.show_units,
        "tolerance_zone_m": job.tolerance_zone_m,
        "expose_reach_m": job.expose_reach_m,
        "test_hole_spacing_m": job.test_hole_spacing_m,
        "default_outside_m": job.default_outside_m,
        "uncertainty": {name: getattr(job, name) for name in UNCERTAINTY_MEMBERS},
        "requirements": [_requirement(one) for one in _requirements(job)],
        "operators": [_operator(one) for one in sorted(job.operators.all(), key=lambda one: one.name)],
    })  # fmt: skip


def locates_features(job: Job) -> list[Properties]:
    """Features of what was called in, painted and found, by kind and then by number or reference."""
    tickets = job.tickets.prefetch_related("responses__operator")
    marks = job.marks.select_related("operator", "ticket")
    holes = job.test_holes.select_related("mark", "ticket")
    surface = job.surface_features.select_related("explained_by_mark")
    return [
        *(_ticket(one) for one in sorted(tickets, key=lambda one: one.number)),
        *(_mark(one) for one in sorted(marks, key=lambda one: one.ref)),
        *(_test_hole(one) for one in sorted(holes, key=lambda one: one.ref)),
        *(_surface_feature(one) for one in sorted(surface, key=lambda one: one.ref)),
        *(_ground_point(one) for one in job.ground_points.order_by("id")),
        *(_linework(one) for one in job.linework.order_by("id")),
    ]


def feature_of(record: Any) -> Properties:
    """The feature of one record of this package, which need not be stored."""
    return _WRITERS[type(record)](record)


def feature(record: Any, geometry: GEOSGeometry, properties: Properties) -> Properties:
    """A GeoJSON feature of a record; members that are not known are left out."""
    return {
        "type": "Feature",
        "id": str(record.id),
        "geometry": _geometry(geometry),
        "properties": known(properties),
    }


def known(members: Properties) -> Properties:
    """Members without those that hold nothing: None, empty text, empty lists and objects."""
    return {
        name: value
        for name, value in members.items()
        if value is not None and value != "" and value != [] and value != {}
    }


def when(moment: datetime | None) -> str | None:
    """A moment as the file writes it."""
    return None if moment is None else write_moment(moment)


def document_text(document: Properties) -> str:
    """The file's text: a feature a line, so that two exports can be compared line by line."""
    features: Iterable[str] = (_line(one) for one in document["features"])
    members = [
        f" {json.dumps(name)}: {_line(value)}" for name, value in document.items() if name != "features"
    ]
    listed = ",\n".join(f"  {one}" for one in features)
    members.append(f' "features": [\n{listed}\n ]' if listed else ' "features": []')
    return "{\n" + ",\n".join(members) + "\n}\n"


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _geometry(geometry: GEOSGeometry) -> Properties:
    shape = geometry[0] if isinstance(geometry, MultiPolygon) and len(geometry) == 1 else geometry
    return {"type": shape.geom_type, "coordinates": _listed(shape.coords)}


def _listed(coordinates: Any) -> Any:
    return [_listed(inner) for inner in coordinates] if isinstance(coordinates, tuple) else coordinates


def _requirements(job: Job) -> list[ClearanceRequirement]:
    return sorted(
        job.requirements.select_related("operator"),
        key=lambda one: (one.operator.name if one.operator else "", one.facility_type),
    )


def _requirement(requirement: ClearanceRequirement) -> Properties:
    return known({
        "operator": requirement.operator.name if requirement.operator else None,
        "facility_type": requirement.facility_type,
        "crossing_m": requirement.crossing_m,
        "alongside_m": requirement.alongside_m,
    })  # fmt: skip


def _operator(operator: FacilityOperator) -> Properties:
    return known({
        "name": operator.name,
        "emergency_phone": operator.emergency_phone,
        "contact": operator.contact,
    })  # fmt: skip


def _ticket(ticket: Ticket) -> Properties:
    responses = sorted(ticket.responses.all(), key=lambda one: one.sequence)
    return feature(ticket, ticket.area, {
        "kind": "ticket",
        "number": ticket.number,
        "ticket_kind": ticket.ticket_kind,
        "called_at": when(ticket.called_at),
        "legal_start_at": when(ticket.legal_start_at),
        "expires_at": when(ticket.expires_at),
        "override_reason": ticket.override_reason,
        "previous_number": ticket.previous_number,
        "white_lined": ticket.white_lined,
        "boring_declared": ticket.boring_declared,
        "responses": [_response(one) for one in responses],
    })  # fmt: skip


def _response(response: Response) -> Properties:
    return known({
        "operator": response.operator.name,
        "response": response.response,
        "responded_at": when(response.responded_at),
        "note": response.note,
    })  # fmt: skip


def _mark(mark: Mark) -> Properties:
    return feature(mark, mark.geometry, {
        "kind": "mark",
        "ref": mark.ref,
        "operator": mark.operator.name,
        "facility_type": mark.facility_type,
        "marked_at": when(mark.marked_at),
        "ticket_number": mark.ticket.number if mark.ticket else None,
        "stated_width_m": mark.stated_width_m,
        "stated_height_m": mark.stated_height_m,
        "stated_depth_m": mark.stated_depth_m,
        "horizontal_accuracy_m": mark.horizontal_accuracy_m,
        "located_by": mark.located_by,
        "is_intact": mark.is_intact,
        "re_marked_at": when(mark.re_marked_at),
    })  # fmt: skip


def _test_hole(hole: TestHole) -> Properties:
    return feature(hole, hole.position, {
        "kind": "test_hole",
        "ref": hole.ref,
        "mark_ref": hole.mark.ref if hole.mark else None,
        "found": hole.found,
        "depth_to_top_m": hole.depth_to_top_m,
        "dug_depth_m": hole.dug_depth_m,
        "outside_width_m": hole.outside_width_m,
        "outside_height_m": hole.outside_height_m,
        "ground_elevation_m": hole.ground_elevation_m,
        "material": hole.material,
        "measured_at": when(hole.measured_at),
        "measured_by": hole.measured_by,
        "measured_how": hole.measured_how,
        "error_m": hole.error_m,
        "is_open": hole.is_open,
        "ticket_number": hole.ticket.number if hole.ticket else None,
    })  # fmt: skip


def _surface_feature(seen: SurfaceFeature) -> Properties:
    return feature(seen, seen.position, {
        "kind": "surface_feature",
        "ref": seen.ref,
        "feature_type": seen.feature_type,
        "facility_type": seen.facility_type,
        "seen_at": when(seen.seen_at),
        "explained_by_mark_ref": seen.explained_by_mark.ref if seen.explained_by_mark else None,
        "signed_off_reason": seen.signed_off_reason,
    })  # fmt: skip


def _ground_point(point: GroundPoint) -> Properties:
    return feature(point, point.position, {"kind": "ground_point", "elevation_m": point.elevation_m})


def _linework(linework: Linework) -> Properties:
    return feature(linework, linework.geometry, {
        "kind": "linework",
        "feature_type": linework.feature_type,
        "label": linework.label,
    })  # fmt: skip


_WRITERS: dict[type, Callable[[Any], Properties]] = {
    Ticket: _ticket,
    Mark: _mark,
    TestHole: _test_hole,
    SurfaceFeature: _surface_feature,
    GroundPoint: _ground_point,
    Linework: _linework,
}
