"""The ticket desk with a million tickets and six million answers: its sweep, its board, one bore's coverage.

Run as `python tests/benchmarks/ticket_desk.py [TICKETS]`; it makes a database of its own and drops it again.
Two years of tickets, a hundred a job, each in force for 25 days and answered twice by three operators; what
has run out is finished or renewed but for three in a hundred. Each figure stands beside that of a peer
measured in the same run: the sweep beside one plain update of as many rows, the first page beside the same
rows read by their primary keys, the coverage beside ST_Intersects of the job's work areas and the bore.
"""

import json
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.db import connection, transaction  # noqa: E402 - what follows needs Django set up
from django.db.models import QuerySet  # noqa: E402

from conflicts.coverage_sheet import coverage_sheet  # noqa: E402
from conflicts.gather import gather  # noqa: E402
from conflicts.models import Bore  # noqa: E402
from conflicts.scene import lay_out  # noqa: E402
from conflicts.ticket_check import ticket_cover  # noqa: E402
from locates.desk.board_sheet import ROWS_A_PAGE, read_matters, read_tickets  # noqa: E402
from locates.desk.reckon_tickets import sweep_due  # noqa: E402
from locates.models import Job, Organisation, TicketMatter, TicketStanding  # noqa: E402
from locates.models.board_queries import (  # noqa: E402
    MATTER_ORDERS,
    TICKET_ORDERS,
    BoardFilters,
    matters_of,
    standings_of,
)
from locates.models.ticket_reckoning import TAKE_DUE  # noqa: E402
from tests.factories import BoreFactory, MembershipFactory, seeded_rule  # noqa: E402

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
NIGHT = timedelta(hours=12)
TICKETS_A_JOB = 100
OPERATORS_A_JOB = 3
DATABASE = "benchmark_ticket_desk"

# Keys of tickets lie scattered, as those that people make do; n counts back in time.
FILL = """
INSERT INTO locates_facilityoperator (id, job_id, name, emergency_phone, contact, version)
SELECT md5('operator ' || job.place || ' ' || k)::uuid, job.id, 'Operator ' || k, '555-0100', '', 1
FROM {jobs} AS job CROSS JOIN generate_series(0, {operators} - 1) AS k;

INSERT INTO locates_ticket (id, job_id, number, ticket_kind, called_by, called_at, response_due_at,
    legal_start_at, renew_by, expires_at, computed_dates, override_reason, previous_number, stated_method,
    work_finished_at, area, version, edited_at)
SELECT md5('ticket ' || n)::uuid, job.id, 'T' || n,
    CASE WHEN renews THEN 'renewal' ELSE 'routine' END, '', called_at, called_at + interval '60 hours',
    called_at + interval '72 hours', called_at + interval '25 days', called_at + interval '28 days',
    '{{}}', '', CASE WHEN renews THEN 'T' || (n + {job_count}) ELSE '' END, '',
    CASE WHEN called_at + interval '28 days' < '{at}' AND n % 100 >= 3
        THEN called_at + interval '28 days' END,
    ST_Multi(ST_MakeEnvelope(job.longitude - 0.001, job.latitude - 0.001, job.longitude + 0.002,
        job.latitude + 0.001, 4326)), 1, called_at
FROM (
    SELECT n, n % {job_count} AS place, n % 10 = 0 AND n + {job_count} <= {count} AS renews,
        timestamptz '{at}' - interval '730 days' * (n / {count}::float) AS called_at
    FROM generate_series(1, {count}) AS n
) AS called
JOIN {jobs} AS job USING (place);

INSERT INTO locates_response (id, ticket_id, operator_id, response, responded_at, note, sequence, version,
    answered_by)
SELECT lpad(to_hex(n * 6 + k), 32, '0')::uuid, md5('ticket ' || n)::uuid,
    md5('operator ' || n % {job_count} || ' ' || k % 3)::uuid,
    CASE WHEN k < 3 THEN 'awaiting' WHEN (n * 6 + k) % 100 = 0 THEN 'extension_asked' ELSE 'marked' END,
    NULL, '', k, 1, ''
FROM generate_series(1, {count}) AS n CROSS JOIN generate_series(0, 5) AS k;

INSERT INTO locates_ticketstanding (ticket_id, organisation_id, job_id, called_at, state, named_count,
    awaited_count, overdue_count, changes_at, reckoned_at)
SELECT ticket.id, job.organisation_id, job.id, ticket.called_at, 'undated', 0, 0, 0, ticket.called_at,
    ticket.called_at
FROM locates_ticket AS ticket
JOIN locates_job AS job ON job.id = ticket.job_id;
"""
PLACES = """
CREATE TEMPORARY TABLE job_places AS
SELECT id, name::int AS place, -78.5 + 0.01 * (name::int % 100) AS longitude,
    38.0 + 0.01 * (name::int / 100) AS latitude
FROM locates_job
"""
INTERSECTING = """
SELECT ticket.id FROM locates_ticket AS ticket JOIN conflicts_bore AS bore ON bore.job_id = ticket.job_id
WHERE bore.id = %s AND ticket.retired_at IS NULL AND ST_Intersects(ticket.area, bore.alignment)
"""


@dataclass(frozen=True)
class Sweep:
    """What a sweep did, how long it took, and how long one plain update of as many rows took."""

    tickets: int
    changes: int
    seconds: float
    peer_seconds: float


@dataclass(frozen=True)
class Against:
    """Seconds of a reading and of its peer, what it read, and the rows of each node of its plan."""

    seconds: float
    peer_seconds: float
    rows: int
    plan: list[str]


@dataclass(frozen=True)
class Comparison:
    """All figures of one run."""

    first: Sweep
    night: Sweep
    idle: Sweep
    take_due: list[str]
    matters: Against
    tickets: Against
    coverage: Against


def fill(count: int) -> Bore:
    """Store so many tickets with six answers each, unreckoned; gives a bore of the first job."""
    company = Organisation.objects.create(name="Larkfield Benchmarks")
    rule, job_count = seeded_rule(), max(count // TICKETS_A_JOB, 1)
    Job.objects.bulk_create(
        (
            Job(organisation=company, name=str(place), jurisdiction=rule, time_zone="America/New_York")
            for place in range(job_count)
        ),
        batch_size=2000,
    )
    values = {"at": AT.isoformat(), "count": count, "job_count": job_count, "operators": OPERATORS_A_JOB}
    with connection.cursor() as cursor:
        cursor.execute(PLACES)
        # What is stored here fits together; looking up each of its links would take most of the time.
        cursor.execute("SET session_replication_role = replica")
        cursor.execute(FILL.format(jobs="job_places", **values))
        cursor.execute("SET session_replication_role = DEFAULT")
        cursor.execute("DROP TABLE job_places")
    settle()
    first = Job.objects.get(name="0")
    return BoreFactory(job=first, planned_start_at=AT, planned_finish_at=AT + timedelta(days=2))


def compare(count: int) -> Comparison:
    """Fill the database and measure."""
    bore = fill(count)
    filters = BoardFilters(MembershipFactory(organisation=bore.job.organisation).user_id)
    first = swept(AT - NIGHT)
    settle()
    take_due = plan_of(TAKE_DUE, {"at": AT, "most": 5000})
    night = swept(AT)
    return Comparison(
        first=first,
        night=night,
        idle=swept(AT),
        take_due=take_due,
        matters=first_page(matters_of(filters), MATTER_ORDERS["due"], read_matters, "due", filters),
        tickets=first_page(
            standings_of(filters), TICKET_ORDERS["called_last"], read_tickets, "called_last", filters
        ),
        coverage=cover(bore),
    )


def settle() -> None:
    """What the database does by itself once it has time: count rows, and forget those that are gone."""
    with connection.cursor() as cursor:
        # Within somebody's transaction nothing can be forgotten.
        cursor.execute("ANALYZE" if connection.in_atomic_block else "VACUUM ANALYZE")


def swept(at: datetime) -> Sweep:
    """Sweep up to a moment; then update as many rows plainly, and roll that back."""
    start = time.perf_counter()
    done = sweep_due(at)
    seconds = time.perf_counter() - start
    some = TicketStanding.objects.order_by("called_at")[: done.tickets].values("pk")
    start = time.perf_counter()
    with transaction.atomic():
        TicketStanding.objects.filter(pk__in=some).update(changes_at=at)
        transaction.set_rollback(True)
    return Sweep(done.tickets, done.changes, seconds, time.perf_counter() - start)


def first_page(
    chosen: QuerySet[Any],
    order: tuple[str, ...],
    read: Callable[..., Any],
    order_name: str,
    filters: BoardFilters,
) -> Against:
    """A list's first page as its view reads it, against its rows by their primary keys."""
    page = chosen.order_by(*order)[: ROWS_A_PAGE + 1]
    keys = [row.pk for row in page]
    by_key = chosen.filter(pk__in=keys)
    own_s, peer_s = least_seconds(lambda: read(filters, order_name, "", AT), lambda: list(by_key.all()))
    query, values = page.query.sql_with_params()
    return Against(own_s, peer_s, len(keys), plan_of(query, values))


def cover(bore: Bore) -> Against:
    """The coverage of one bore from the records, against PostGIS asked which areas meet it."""
    found: list[Any] = []

    def own() -> None:
        found.append(coverage_sheet(ticket_cover(lay_out(gather([bore.pk])[bore.pk]), AT)))

    def peer() -> None:
        with connection.cursor() as cursor:
            cursor.execute(INTERSECTING, [bore.pk])
            cursor.fetchall()

    own_s, peer_s = least_seconds(own, peer)
    return Against(own_s, peer_s, len(found[0].spans), plan_of(INTERSECTING, [bore.pk]))


def plan_of(query: str, values: Any) -> list[str]:
    """Each node of the plan of a query that is run, with the rows that came out of it, all loops together."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN (ANALYZE, FORMAT JSON) {query}", values)
        answer = cursor.fetchone()[0]
        transaction.set_rollback(True)
    document = json.loads(answer) if isinstance(answer, str) else answer
    return list(_nodes(document[0]["Plan"], 0))


def _nodes(node: dict[str, Any], depth: int) -> Iterator[str]:
    on = node.get("Index Name") or node.get("Relation Name") or ""
    rows = round(node["Actual Rows"] * node["Actual Loops"])
    yield f"{'  ' * depth}{node['Node Type']} {on}: {rows} rows".replace(" :", ":")
    for part in node.get("Plans", ()):
        yield from _nodes(part, depth + 1)


@contextmanager
def own_database() -> Iterator[None]:
    """A database of the program's tables alone, dropped at the end."""
    connection.settings_dict["TEST"]["NAME"] = DATABASE
    before = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    try:
        yield
    finally:
        connection.creation.destroy_test_db(before, verbosity=0)


def main() -> None:
    """Print the comparison."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    with own_database():
        found = compare(count)
        matters = TicketMatter.objects.count()
    print(f"{count:,} tickets, {6 * count:,} answers, {matters:,} matters")
    for name, sweep in (("all", found.first), ("a night", found.night), ("nothing", found.idle)):
        ratio = sweep.seconds / sweep.peer_seconds
        print(
            f"sweep of {name:8} {sweep.tickets:9,d} tickets, {sweep.changes:9,d} rows changed"
            f" {sweep.seconds:8.3f} s; plain update {sweep.peer_seconds:8.3f} s, ratio {ratio:6.2f}"
        )
    print("\n".join(found.take_due))
    for name, one, peer in (
        ("what to do, first page", found.matters, "rows by key"),
        ("all tickets, first page", found.tickets, "rows by key"),
        ("coverage of one bore", found.coverage, "ST_Intersects"),
    ):
        print(
            f"{name:24} {one.rows:4d} rows {1000 * one.seconds:8.2f} ms;"
            f" {peer} {1000 * one.peer_seconds:8.2f} ms, ratio {one.seconds / one.peer_seconds:6.2f}"
        )
        print("\n".join(one.plan))


if __name__ == "__main__":
    main()
