"""The audit's page over a year of many bores, beside plainly reading the documents and watches behind it.

Run as `python tests/benchmarks/audit.py [BORES] [CROSSINGS]`; all of it is rolled back. Each bore has four
releases over the year and every pass of every crossing watched; the page is read whole, part by part of it
too. The peer selects the same releases' documents and the same watches, and does nothing with them.
"""

import json
import sys
import time
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up

from conflicts.audit.parts import SECTIONS  # noqa: E402
from conflicts.desk.audit_sheet import AuditPage, read_audit  # noqa: E402
from conflicts.models import Assessment, Bore, Crossing, CrossingWatch, PassMade, Release  # noqa: E402
from conflicts.models.audit_filters import AuditFilters  # noqa: E402
from locates.models import Job, Mark  # noqa: E402
from tests.factories import (  # noqa: E402
    DIGEST,
    BoreFactory,
    CrossingFactory,
    JobFactory,
    MarkFactory,
    PersonFactory,
)

BEGAN_AT = datetime(2025, 11, 3, 13, 0, tzinfo=UTC)
BORES_A_JOB, RELEASES_A_BORE = 10, 4
APART_M, REQUIRED_M = 5.0, 0.3
ROUNDS = 3
CROSSING_MEMBERS = (
    *("mark_ref", "operator", "facility_type", "kind", "verdict"),
    *("from_m", "to_m", "station_m", "worst_case_m", "required_m"),
)


@dataclass(frozen=True)
class Comparison:
    """Seconds of the page and of the peer, their ratio, what it sums up, and seconds of each part's list."""

    seconds: float
    peer_seconds: float
    ratio: float
    bores: int
    margins: int
    drawn: int
    part_seconds: dict[str, float]


def compare(bores: int, crossings: int, rounds: int = ROUNDS) -> Comparison:
    """Store a year of so many bores with so many crossings each, and read the audit of it."""
    with transaction.atomic():
        filters = AuditFilters(_store_year(bores, crossings))
        page: AuditPage | None = None

        def read() -> None:
            nonlocal page
            page = read_audit(filters, "margins", "")

        seconds, peer = least_seconds(read, _read_plainly, rounds)
        parts = {one.code: _seconds_of(one, filters) for one in SECTIONS}
        transaction.set_rollback(True)
    counts = {one.section.code: one.count for one in page.parts}
    drawn = len(page.plot.points)
    return Comparison(seconds, peer, seconds / peer, bores, counts["margins"], drawn, parts)


def _seconds_of(section: object, filters: AuditFilters) -> float:
    start = time.perf_counter()
    section.rows(filters, None, 51)
    return time.perf_counter() - start


def _read_plainly() -> None:
    documents = list(Release.objects.values_list("document", flat=True))
    watches = list(CrossingWatch.objects.values_list("mark_id", "station_m", "gap_m", "required_m"))
    if not documents or not watches:
        raise RuntimeError("Nothing was stored to be read.")


def _store_year(bores: int, crossings: int) -> object:
    """The company whose jobs all of it is about."""
    person, company, marks = PersonFactory(), None, []
    for number in range(bores):
        if number % BORES_A_JOB == 0:
            job = JobFactory(**({"organisation": company} if company else {}))
            company = job.organisation
            marks = _marks(job, crossings)
        _store_bore(BoreFactory(job=job), marks, number, person)
    with connection.cursor() as cursor:
        # As autovacuum does between the day's work and the audit of it.
        cursor.execute("ANALYZE")
    return company.pk


def _marks(job: Job, count: int) -> list[Mark]:
    first = MarkFactory(job=job, ref="M-000")
    rest = [MarkFactory.build(job=job, operator=first.operator, ref=f"M-{at:03d}") for at in range(1, count)]
    return [first, *Mark.objects.bulk_create(rest)]


def _store_bore(bore: Bore, marks: list[Mark], number: int, person: object) -> None:
    assessment = Assessment.objects.create(
        bore=bore, inputs_digest=DIGEST, length_m=bore.alignment_length_m, assessed_at=BEGAN_AT
    )
    found = []
    for place, mark in enumerate(marks):
        station_m = APART_M * (place + 1)
        lies = {"from_m": station_m - 1.0, "to_m": station_m + 1.0, "station_m": station_m}
        margin_m = (number * 7 + place * 13) % 90 / 100
        found.append(
            CrossingFactory.build(
                assessment=assessment,
                bore=bore,
                mark=mark,
                sequence=place,
                worst_case_m=REQUIRED_M + margin_m,
                required_m=REQUIRED_M,
                **lies,
            )
        )
    Crossing.objects.bulk_create(found)
    document = {
        "checks": [],
        "crossings": [{name: getattr(one, name) for name in CROSSING_MEMBERS} for one in found],
    }
    began_at = BEGAN_AT + timedelta(days=number * 7 % 300)
    moments = [began_at + timedelta(days=10 * turn) for turn in range(RELEASES_A_BORE)]
    Release.objects.bulk_create(_release(bore, marks, document, at, person) for at in moments)
    CrossingWatch.objects.bulk_create(
        _watch(bore, one, name, moments[turn], person)
        for turn, name in enumerate(PassMade.values)
        for one in found
    )


def _release(bore: Bore, marks: list[Mark], document: dict, at: datetime, person: object) -> Release:
    return Release(
        bore=bore,
        document=document,
        crossing_marks=[str(one.pk) for one in marks],
        excused_by=[],
        last_event_id=0,
        inputs_digest=DIGEST,
        grounds_digest=DIGEST,
        shift_from=at,
        shift_until=at + timedelta(hours=10),
        crew="Crew 2",
        rig="Rig 7",
        signed_by=person,
        signed_by_name="Ada Fenwick",
        signed_at=at,
    )


def _watch(bore: Bore, one: Crossing, pass_made: str, at: datetime, person: object) -> CrossingWatch:
    return CrossingWatch(
        bore=bore,
        mark=one.mark,
        kind=one.kind,
        station_m=one.station_m,
        pass_made=pass_made,
        seen=True,
        gap_m=one.worst_case_m + 0.1,
        required_m=REQUIRED_M,
        watched_by=person,
        watched_by_name="Bram Orley",
        watched_at=at + timedelta(minutes=10 * one.sequence + 5),
    )


if __name__ == "__main__":
    asked = [int(one) for one in sys.argv[1:3]]
    print(json.dumps(asdict(compare(*(asked or (200, 40)))), indent=2))
