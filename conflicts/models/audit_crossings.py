"""The crossings of drilled bores: as the close-out knew them, else as they lie now, and those gone since."""

from typing import Any

from django.db import connection, transaction
from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.db.models.functions import Greatest, Now

from conflicts.models.audit_drilling import DRILLED, days_of
from conflicts.models.audit_filters import AuditFilters, by_person, called_sql, of_company
from conflicts.models.bore import Bore
from conflicts.models.chosen_rows import chosen_sql
from conflicts.models.crossing_watch import CrossingWatch
from conflicts.models.drilled_rod import DrilledRod
from conflicts.models.hole_pass import HolePass
from conflicts.models.named_crossings import MARK_THEN, NAMED_CROSSINGS
from conflicts.models.release import Release
from conflicts.models.rod_withdrawal import WithdrawalKind

# A rod that was pulled back was in the ground; one that was entered wrongly never was.
ENTERED_RIGHTLY = Q(withdrawal__isnull=True) | ~Q(withdrawal__kind=WithdrawalKind.UNDO)

# What the drilled hole is like past a line, as last computed; unknown while that waits to be done anew.
FIGURES_OF_ALONE = """
        CASE WHEN w.id IS NULL THEN h.verdict ELSE '' END AS verdict_now,
        CASE WHEN w.id IS NULL THEN h.worst_case_m END AS worst_now_m,
        CASE WHEN w.id IS NULL THEN h.required_m END AS required_now_m
""".strip()

# The crossings of a bore that is closed out are those of its close-out, with the passes that it knew; of any
# other, and of lines that it did not name, those last computed, of the plan and of the drilled hole alone.
# Besides these, the crossings that releases name, or the hole met, and that none of them is: gone from the
# records since (`crossings_to_watch`).
DRILLED_CROSSINGS = f"""
called AS MATERIALIZED ({{called}}),
{DRILLED.strip()},
{NAMED_CROSSINGS.strip()},
closed AS MATERIALIZED (
    SELECT o.bore_id, coalesce(nullif(c.crossing ->> 'mark_id', '')::uuid, mark.id) AS mark_id,
        c.crossing ->> 'mark_ref' AS mark_ref,
        c.crossing ->> 'kind' AS kind, (c.crossing ->> 'station_m')::float8 AS station_m,
        c.crossing -> 'passes' AS passes,
        coalesce((c.crossing ->> 'is_drilled_alone')::boolean, false) AS is_drilled
    FROM conflicts_closeout o CROSS JOIN LATERAL jsonb_array_elements(o.grounds -> 'crossings') AS c(crossing)
    {MARK_THEN.format(of="o", at="closed_at", unless="true")}
    WHERE o.bore_id IN (SELECT id FROM drilled)
),
alone AS MATERIALIZED (
    SELECT h.*, h.from_m - n.near_m AS reach_from_m, h.to_m + n.near_m AS reach_to_m,
        {FIGURES_OF_ALONE}
    FROM conflicts_drilledalonecrossing h JOIN near n ON n.bore_id = h.bore_id
    LEFT JOIN conflicts_reassessment w ON w.bore_id = h.bore_id
    WHERE NOT EXISTS (
        SELECT 1 FROM closed o WHERE o.bore_id = h.bore_id AND o.kind = h.kind
            AND coalesce(o.mark_id = h.mark_id, o.mark_ref = h.mark_ref))
),
present AS MATERIALIZED (
    SELECT row_number() OVER () AS key, x.*
    FROM (
        SELECT o.bore_id, o.mark_id, o.mark_ref, o.kind, o.station_m, o.station_m - n.near_m AS from_m,
            o.station_m + n.near_m AS to_m, NULL::float8 AS reach_from_m, NULL::float8 AS reach_to_m,
            p.name AS operator, m.facility_type, '' AS verdict, NULL::float8 AS worst_case_m,
            NULL::float8 AS required_m, o.passes, o.is_drilled, '' AS leg
        FROM closed o JOIN near n ON n.bore_id = o.bore_id LEFT JOIN locates_mark m ON m.id = o.mark_id
        LEFT JOIN locates_facilityoperator p ON p.id = m.operator_id
        UNION ALL
        SELECT c.bore_id, c.mark_id, c.mark_ref, c.kind, c.station_m, c.from_m, c.to_m, c.from_m - n.near_m,
            c.to_m + n.near_m, c.operator, c.facility_type, c.verdict, c.worst_case_m, c.required_m, NULL,
            false, ''
        FROM conflicts_crossing c JOIN near n ON n.bore_id = c.bore_id
        WHERE NOT EXISTS (
            SELECT 1 FROM closed o WHERE o.bore_id = c.bore_id AND o.kind = c.kind
                AND coalesce(o.mark_id = c.mark_id, o.mark_ref = c.mark_ref))
        UNION ALL
        SELECT a.bore_id, a.mark_id, a.mark_ref, a.kind, a.station_m, a.from_m, a.to_m, a.reach_from_m,
            a.reach_to_m, a.operator, a.facility_type, a.verdict_now, a.worst_now_m, a.required_now_m, NULL,
            true, a.leg
        FROM alone a WHERE NOT a.is_gone
    ) AS x
),
pairs AS MATERIALIZED (
    -- Which present one a released one is. A close-out names where the line lay, not how far it reached.
    SELECT p.key, abs(r.station_m - p.station_m) AS apart_m, r.*
    FROM released r JOIN present p ON p.bore_id = r.bore_id AND p.kind = r.kind
        AND coalesce(p.mark_id = r.mark_id, p.mark_ref = r.mark_ref)
        AND coalesce(r.station_m BETWEEN p.reach_from_m AND p.reach_to_m, true)
),
crossings AS MATERIALIZED (
    SELECT row_number() OVER (ORDER BY x.bore_id, x.station_m, x.mark_ref, x.kind, x.operator) AS key, x.*
    FROM (
        SELECT p.bore_id, p.mark_id, p.mark_ref, p.kind, p.station_m, p.from_m, p.to_m, p.reach_from_m,
            p.reach_to_m, coalesce(p.operator, r.operator, '') AS operator,
            coalesce(p.facility_type, r.facility_type, '') AS facility_type,
            coalesce(r.verdict, p.verdict) AS verdict,
            CASE WHEN r.key IS NULL THEN p.worst_case_m ELSE r.worst_case_m END AS worst_case_m,
            CASE WHEN r.key IS NULL THEN p.required_m ELSE r.required_m END AS required_m,
            r.release_id, p.passes, false AS is_gone, p.is_drilled, p.leg
        FROM present p
        LEFT JOIN (
            SELECT DISTINCT ON (key) * FROM pairs ORDER BY key, signed_at DESC, apart_m, ordinal
        ) AS r ON r.key = p.key
        UNION ALL
        SELECT r.bore_id, r.mark_id, r.mark_ref, r.kind, r.station_m, r.from_m, r.to_m, r.from_m - n.near_m,
            r.to_m + n.near_m, r.operator, r.facility_type, r.verdict, r.worst_case_m, r.required_m,
            r.release_id, NULL, true, false, ''
        FROM released r JOIN near n ON n.bore_id = r.bore_id
        WHERE NOT EXISTS (SELECT 1 FROM pairs p WHERE p.release_id = r.release_id AND p.ordinal = r.ordinal)
        UNION ALL
        SELECT a.bore_id, a.mark_id, a.mark_ref, a.kind, a.station_m, a.from_m, a.to_m, a.reach_from_m,
            a.reach_to_m, a.operator, a.facility_type, a.verdict_now, a.worst_now_m, a.required_now_m,
            NULL::uuid, NULL, true, true, a.leg
        FROM alone a WHERE a.is_gone
    ) AS x
)
"""  # noqa: S608 - constants

# A watch belongs to the present crossing of the same mark and kind nearest in station within whose reach it
# lies, and to none where two are equally near (`crossing_of_watch`); one that is of none, to the nearest of
# those gone. What a close-out knew of a watch stands in the close-out.
WATCHED = """
told AS (
    SELECT (w.watch ->> 'watch')::uuid AS id FROM closed o
    CROSS JOIN LATERAL jsonb_array_elements(o.passes) AS p(pass)
    CROSS JOIN LATERAL jsonb_array_elements(p.pass -> 'watches') AS w(watch)
),
watched AS MATERIALIZED (
    SELECT x.* FROM (
        SELECT w.id, w.pass_made, w.seen, w.watched_at, w.entered_at, c.key,
            rank() OVER (PARTITION BY w.id ORDER BY c.is_gone, abs(c.station_m - w.station_m)) AS place,
            count(*) OVER (PARTITION BY w.id, c.is_gone, abs(c.station_m - w.station_m)) AS alike
        FROM conflicts_crossingwatch w
        JOIN crossings c ON c.bore_id = w.bore_id AND c.mark_id = w.mark_id AND c.kind = w.kind
            AND w.station_m BETWEEN c.reach_from_m AND c.reach_to_m
        WHERE w.id NOT IN (SELECT id FROM told)
    ) AS x WHERE x.place = 1 AND x.alike = 1
)
"""


def drilled_bores(filters: AuditFilters) -> QuerySet[Bore]:
    """Bores with a watch, a rod, a pass after it or a close-out, and those of which a released shift is over.

    Whether these were drilled in it nobody wrote down, and an unknown is never taken for the good. On which
    days they were drilled a statement asks with `DRILLED`. A person is who released one, under a release that
    stood, or watched, logged or closed it out.
    """
    watches = CrossingWatch.objects.filter(bore=OuterRef("pk"))
    rods = DrilledRod.objects.filter(ENTERED_RIGHTLY, bore=OuterRef("pk"))
    passes = HolePass.objects.filter(withdrawal__isnull=True, bore=OuterRef("pk"))
    stood = Q(withdrawal__isnull=True) | Q(withdrawal__withdrawn_at__gte=F("shift_until"))
    releases = Release.objects.filter(bore=OuterRef("pk"))
    over = releases.filter(stood, shift_until__lte=Now())
    found = Bore.with_retired.filter(
        Q(close_out__isnull=False) | Exists(watches) | Exists(rods) | Exists(passes) | Exists(over),
        of_company(filters, "job"),
        _named(filters),
    )
    if filters.person:
        signed = Exists(watches.filter(by_person(filters, "watched_by_name")))
        signed |= Exists(rods.filter(by_person(filters, "logged_by_name")))
        signed |= Exists(passes.filter(by_person(filters, "logged_by_name")))
        might_be_drilled = Q(withdrawal__isnull=True) | Q(
            withdrawal__withdrawn_at__gte=Greatest("signed_at", "shift_from")
        )
        signed |= Exists(releases.filter(might_be_drilled, by_person(filters, "signed_by_name")))
        found = found.filter(by_person(filters, "close_out__closed_by_name") | signed)
    return found


def ask_of_drilled(filters: AuditFilters, question: str, values: dict[str, Any]) -> list[tuple[Any, ...]]:
    """The rows of a statement about the crossings of the drilled bores that filters choose."""
    bores, bore_values = chosen_sql(drilled_bores(filters), "bore")
    called, called_values = called_sql(filters)
    asked = {"verdict": filters.verdict, **called_values, **days_of(filters), **bore_values, **values}
    # Only the select of the bores is put in, with names of parameters; every value goes as one of these.
    return rows_uncompiled(question.replace("{bores}", bores).replace("{called}", called), asked)


def rows_uncompiled(sql: str, values: dict[str, Any]) -> list[tuple[Any, ...]]:
    """The rows of a statement; to compile one of so many parts takes longer than to run it."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL jit = off")
        cursor.execute(sql, values)
        return cursor.fetchall()


def _named(filters: AuditFilters) -> Q:
    return Q(name__icontains=filters.bore) if filters.bore else Q()
