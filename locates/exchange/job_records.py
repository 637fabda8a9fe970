"""From the job file's document to the records of this package."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib.gis.geos import GEOSGeometry, LineString, MultiPolygon, Point, Polygon

from locates.exchange.moments import read_moment
from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    JurisdictionRule,
    Linework,
    Mark,
    Organisation,
    Response,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from locates.models.retirable import Retirable

WGS_84 = 4326

UNCERTAINTY_MEMBERS = (
    "bore_horizontal_m",
    "bore_vertical_m",
    "drilled_fixed_m",
    "drilled_depth_ratio",
    "test_hole_m",
    "slope_ratio",
)
_OWN_NUMBERS = ("mean_height_m", "tolerance_zone_m", "expose_reach_m", "test_hole_spacing_m")

Properties = dict[str, Any]
Records = dict[type[Retirable], list[Any]]
"""Records of a job by their kind."""


def fill_job(job: Job, organisation: Organisation, rule: JurisdictionRule, members: Properties) -> None:
    """Set everything of a job from the file's job; what the file leaves out takes its default."""
    job.organisation = organisation
    job.jurisdiction = rule
    job.name = members["name"]
    job.time_zone = members["time_zone"]
    job.datum = members.get("datum", "")
    job.show_units = members.get("show_units", Job._meta.get_field("show_units").get_default())
    job.default_outside_m = {name: float(size) for name, size in members.get("default_outside_m", {}).items()}
    for name in _OWN_NUMBERS:
        setattr(job, name, number(members, name))
    uncertainty = members.get("uncertainty", {})
    for name in UNCERTAINTY_MEMBERS:
        default = Job._meta.get_field(name).get_default()
        setattr(job, name, float(uncertainty.get(name, default)))


def operators_of(job: Job, document: Properties) -> dict[str, FacilityOperator]:
    """Operators that the file's job describes and those that its features name, by name, not saved yet."""
    described = {operator["name"]: operator for operator in document["job"].get("operators", [])}
    named = [feature["properties"]["operator"] for feature in features_of(document, "mark")]
    for feature in features_of(document, "ticket"):
        named += [response["operator"] for response in feature["properties"].get("responses", [])]
    return {
        name: FacilityOperator(
            job=job,
            name=name,
            emergency_phone=described.get(name, {}).get("emergency_phone", ""),
            contact=described.get(name, {}).get("contact", ""),
        )
        for name in dict.fromkeys([*described, *named])
    }


def locates_records(job: Job, document: Properties, operators: dict[str, FacilityOperator]) -> Records:
    """What was called in, painted and found, not saved yet; whoever is named comes before who names."""
    tickets = {one["properties"]["number"]: _ticket(job, one) for one in features_of(document, "ticket")}
    marks = {
        one["properties"]["ref"]: mark_of(job, one, operators, tickets)
        for one in features_of(document, "mark")
    }
    return {
        FacilityOperator: list(operators.values()),
        ClearanceRequirement: [
            _requirement(job, one, operators) for one in document["job"].get("requirements", [])
        ],
        Ticket: list(tickets.values()),
        Response: [
            _response(tickets[feature["properties"]["number"]], sequence, response, operators)
            for feature in features_of(document, "ticket")
            for sequence, response in enumerate(feature["properties"].get("responses", []))
        ],
        Mark: list(marks.values()),
        TestHole: [test_hole_of(job, one, marks, tickets) for one in features_of(document, "test_hole")],
        SurfaceFeature: [
            _surface_feature(job, one, marks) for one in features_of(document, "surface_feature")
        ],
        GroundPoint: [ground_point_of(job, one) for one in features_of(document, "ground_point")],
        Linework: [linework_of(job, one) for one in features_of(document, "linework")],
    }


def store_records(records: Records) -> None:
    """Store the records of a job that holds none yet."""
    for model, written in records.items():
        model.objects.bulk_create(written)


def features_of(document: Properties, kind: str) -> list[Properties]:
    """Features of one kind, in the order of the file."""
    return [feature for feature in document["features"] if feature["properties"]["kind"] == kind]


def identifier(feature: Properties) -> UUID:
    """The feature's own id, or a new one."""
    return UUID(feature["id"]) if "id" in feature else uuid4()


def number(properties: Properties, member: str) -> float | None:
    """A number as a float; None where it is not given."""
    return float(properties[member]) if member in properties else None


def moment(properties: Properties, member: str) -> Any:
    """A moment in UTC; None where it is not given."""
    return read_moment(properties[member]) if member in properties else None


def geometry(feature: Properties) -> GEOSGeometry:
    """The feature's geometry, to the last digit."""
    kind, coordinates = feature["geometry"]["type"], feature["geometry"]["coordinates"]
    if kind == "Point":
        return Point(*coordinates, srid=WGS_84)
    if kind == "LineString":
        return LineString(coordinates, srid=WGS_84)
    if kind == "Polygon":
        return Polygon(*coordinates, srid=WGS_84)
    return MultiPolygon([Polygon(*rings) for rings in coordinates], srid=WGS_84)


def _requirement(
    job: Job, properties: Properties, operators: dict[str, FacilityOperator]
) -> ClearanceRequirement:
    return ClearanceRequirement(
        job=job,
        operator=operators[properties["operator"]] if "operator" in properties else None,
        facility_type=properties.get("facility_type", ""),
        crossing_m=float(properties["crossing_m"]),
        alongside_m=float(properties["alongside_m"]),
    )


def _ticket(job: Job, feature: Properties) -> Ticket:
    properties = feature["properties"]
    area = geometry(feature)
    return Ticket(
        id=identifier(feature),
        job=job,
        number=properties["number"],
        ticket_kind=properties["ticket_kind"],
        called_at=moment(properties, "called_at"),
        legal_start_at=moment(properties, "legal_start_at"),
        expires_at=moment(properties, "expires_at"),
        override_reason=properties.get("override_reason", ""),
        previous_number=properties.get("previous_number", ""),
        white_lined=properties.get("white_lined"),
        boring_declared=properties.get("boring_declared"),
        area=area if isinstance(area, MultiPolygon) else MultiPolygon(area, srid=WGS_84),
    )


def _response(
    ticket: Ticket, sequence: int, properties: Properties, operators: dict[str, FacilityOperator]
) -> Response:
    return Response(
        ticket=ticket,
        operator=operators[properties["operator"]],
        response=properties["response"],
        responded_at=moment(properties, "responded_at"),
        note=properties.get("note", ""),
        sequence=sequence,
    )


def mark_of(
    job: Job, feature: Properties, operators: dict[str, FacilityOperator], tickets: dict[str, Ticket]
) -> Mark:
    """The mark that a feature describes, not saved yet."""
    properties = feature["properties"]
    return Mark(
        id=identifier(feature),
        job=job,
        ref=properties["ref"],
        operator=operators[properties["operator"]],
        facility_type=properties["facility_type"],
        marked_at=moment(properties, "marked_at"),
        ticket=tickets[properties["ticket_number"]] if "ticket_number" in properties else None,
        stated_width_m=number(properties, "stated_width_m"),
        stated_height_m=number(properties, "stated_height_m"),
        stated_depth_m=number(properties, "stated_depth_m"),
        horizontal_accuracy_m=number(properties, "horizontal_accuracy_m"),
        located_by=properties.get("located_by", ""),
        is_intact=properties.get("is_intact"),
        re_marked_at=moment(properties, "re_marked_at"),
        geometry=geometry(feature),
    )


def test_hole_of(
    job: Job, feature: Properties, marks: dict[str, Mark], tickets: dict[str, Ticket]
) -> TestHole:
    """The test hole that a feature describes, not saved yet."""
    properties = feature["properties"]
    return TestHole(
        id=identifier(feature),
        job=job,
        ref=properties["ref"],
        mark=marks[properties["mark_ref"]] if "mark_ref" in properties else None,
        found=properties["found"],
        depth_to_top_m=number(properties, "depth_to_top_m"),
        dug_depth_m=number(properties, "dug_depth_m"),
        outside_width_m=number(properties, "outside_width_m"),
        outside_height_m=number(properties, "outside_height_m"),
        ground_elevation_m=number(properties, "ground_elevation_m"),
        material=properties.get("material", ""),
        measured_at=moment(properties, "measured_at"),
        measured_by=properties.get("measured_by", ""),
        measured_how=properties.get("measured_how", ""),
        error_m=number(properties, "error_m"),
        is_open=properties.get("is_open"),
        ticket=tickets[properties["ticket_number"]] if "ticket_number" in properties else None,
        position=geometry(feature),
    )


def ground_point_of(job: Job, feature: Properties) -> GroundPoint:
    """The ground point that a feature describes, not saved yet."""
    elevation_m = float(feature["properties"]["elevation_m"])
    return GroundPoint(id=identifier(feature), job=job, elevation_m=elevation_m, position=geometry(feature))


def linework_of(job: Job, feature: Properties) -> Linework:
    """The linework that a feature describes, not saved yet."""
    properties = feature["properties"]
    return Linework(
        id=identifier(feature),
        job=job,
        feature_type=properties["feature_type"],
        label=properties.get("label", ""),
        geometry=geometry(feature),
    )


def _surface_feature(job: Job, feature: Properties, marks: dict[str, Mark]) -> SurfaceFeature:
    properties = feature["properties"]
    explained_by = properties.get("explained_by_mark_ref")
    return SurfaceFeature(
        id=identifier(feature),
        job=job,
        ref=properties["ref"],
        feature_type=properties["feature_type"],
        facility_type=properties["facility_type"],
        seen_at=moment(properties, "seen_at"),
        explained_by_mark=None if explained_by is None else marks[explained_by],
        signed_off_reason=properties.get("signed_off_reason", ""),
        position=geometry(feature),
    )
