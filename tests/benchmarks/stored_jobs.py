"""The invented jobs as the program's own records, every line found by a test hole at both of its ends."""

from uuid import UUID

import numpy as np
from django.contrib.gis.geos import LineString, MultiPolygon, Point, Polygon

from conflicts.engine.frame import GroundFrame, chainages_m
from conflicts.models import Bore
from locates.models import FacilityOperator, Job, Mark, Organisation, Response, TestHole, Ticket
from tests.benchmarks.invented_jobs import SIDE_M, FloatArray, InventedJob
from tests.factories import CALLED_AT, EXPIRES_AT, LEGAL_START_AT, MARKED_AT, MEASURED_AT, seeded_rule

BORE_RADIUS_M = 0.15
WIDTH_M = 0.2
TOLERANCE_M = 0.6
# Jobs lie on a grid of about half a kilometre, as no index would meet them all on one spot.
GRID, STEP_DEG = 40, 0.006


def store_records(jobs: list[InventedJob]) -> list[UUID]:
    """Put the jobs in the database; the ids of their bores, in order."""
    company = Organisation.objects.create(name="Larkfield Benchmarks")
    rule = seeded_rule()
    stored = Job.objects.bulk_create(
        Job(
            organisation=company,
            name=f"Invented {number:05d}",
            jurisdiction=rule,
            time_zone="America/New_York",
            tolerance_zone_m=TOLERANCE_M,
        )
        for number in range(len(jobs))
    )
    owners = FacilityOperator.objects.bulk_create(
        FacilityOperator(job=job, name="Brindle Utilities", emergency_phone="555-0100") for job in stored
    )
    frames = [_frame(number) for number in range(len(jobs))]
    tickets = Ticket.objects.bulk_create(map(_ticket, stored, frames))
    Response.objects.bulk_create(
        Response(ticket=ticket, operator=owner, response="marked", responded_at=MARKED_AT, sequence=0)
        for ticket, owner in zip(tickets, owners, strict=True)
    )
    marks, holes = [], []
    for job, owner, frame, invented in zip(stored, owners, frames, jobs, strict=True):
        for number, line in enumerate(invented.lines_m):
            marks.append(_mark(job, owner, frame, number, line))
            holes += _holes(marks[-1], frame, line)
    Mark.objects.bulk_create(marks, batch_size=2000)
    TestHole.objects.bulk_create(holes, batch_size=2000)
    bores = Bore.objects.bulk_create(map(_bore, stored, frames, jobs))
    return [bore.pk for bore in bores]


def _frame(number: int) -> GroundFrame:
    return GroundFrame(-98.0 + STEP_DEG * (number % GRID), 38.0 + STEP_DEG * (number // GRID))


def _degrees(frame: GroundFrame, plan_m: FloatArray) -> list[tuple[float, float]]:
    return [(float(lon), float(lat)) for lon, lat in frame.to_geographic(plan_m)]


def _ticket(job: Job, frame: GroundFrame) -> Ticket:
    corners = np.array([(-1.0, -1.0), (2.0, -1.0), (2.0, 2.0), (-1.0, 2.0), (-1.0, -1.0)]) * SIDE_M
    area = MultiPolygon(Polygon(_degrees(frame, corners)), srid=4326)
    times = {"called_at": CALLED_AT, "legal_start_at": LEGAL_START_AT, "expires_at": EXPIRES_AT}
    return Ticket(job=job, number="T1", ticket_kind="routine", area=area, **times)


def _mark(job: Job, owner: FacilityOperator, frame: GroundFrame, number: int, line: FloatArray) -> Mark:
    return Mark(
        job=job,
        ref=f"M{number:02d}",
        operator=owner,
        facility_type="potable_water",
        marked_at=MARKED_AT,
        stated_width_m=WIDTH_M,
        is_intact=True,
        geometry=LineString(_degrees(frame, line[:, :2]), srid=4326),
    )


def _holes(mark: Mark, frame: GroundFrame, line: FloatArray) -> list[TestHole]:
    return [
        TestHole(
            job=mark.job,
            ref=f"{mark.ref}-{end}",
            mark=mark,
            found=True,
            depth_to_top_m=float(-line[end, 2] - WIDTH_M / 2),
            measured_at=MEASURED_AT,
            measured_by="R. Pell",
            measured_how="tape from the ground",
            position=Point(*_degrees(frame, line[[end], :2])[0], srid=4326),
        )
        for end in (0, -1)
    ]


def _bore(job: Job, frame: GroundFrame, invented: InventedJob) -> Bore:
    stations = chainages_m(invented.bore_m[:, :2])
    return Bore(
        job=job,
        name="B1",
        alignment=LineString(_degrees(frame, invented.bore_m[:, :2]), srid=4326),
        alignment_length_m=float(stations[-1]),
        final_diameter_m=2 * BORE_RADIUS_M,
        product="conduit",
        profile_by="elevation",
        profile_stations_m=stations.tolist(),
        profile_values_m=invented.bore_m[:, 2].tolist(),
    )
