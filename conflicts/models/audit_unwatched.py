"""Crossings of drilled bores for which a watch of a pass is missing."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import Exists, F, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce, Greatest, Now

from conflicts.models.audit_filters import AuditFilters, by_person, of_company, within_days
from conflicts.models.bore import Bore
from conflicts.models.chosen_rows import chosen_sql
from conflicts.models.crossing_watch import CrossingWatch
from conflicts.models.release import Release

# A bore's crossings are those that its last release names, and those last computed of lines that it does not
# name. A release names a line by its reference: of the marks of one reference the one is meant that was live
# then, and that is the first to be retired after it. A watch belongs to the crossing of the same mark and
# kind nearest in station, and to none where two are equally near (`crossing_of_watch`); the last of a pass
# counts.
UNWATCHED = """
WITH drilled AS ({bores}),
last_release AS (
    SELECT DISTINCT ON (r.bore_id) r.id, r.bore_id, r.document, r.signed_at
    FROM conflicts_release r WHERE r.bore_id IN (SELECT id FROM drilled)
    ORDER BY r.bore_id, r.signed_at DESC, r.id
),
released AS (
    SELECT r.bore_id, mark.id AS mark_id, c.crossing ->> 'mark_ref' AS mark_ref,
        c.crossing ->> 'kind' AS kind, (c.crossing ->> 'station_m')::float8 AS station_m,
        c.crossing ->> 'operator' AS operator, c.crossing ->> 'facility_type' AS facility_type,
        c.crossing ->> 'verdict' AS verdict, r.id AS release_id
    FROM last_release r CROSS JOIN LATERAL jsonb_array_elements(r.document -> 'crossings') AS c(crossing)
    LEFT JOIN LATERAL (
        SELECT m.id FROM locates_mark m JOIN conflicts_bore b ON b.job_id = m.job_id
        WHERE b.id = r.bore_id AND m.ref = c.crossing ->> 'mark_ref'
            AND (m.retired_at IS NULL OR m.retired_at > r.signed_at)
        ORDER BY m.retired_at NULLS LAST LIMIT 1
    ) AS mark ON true
),
crossings AS MATERIALIZED (
    SELECT row_number() OVER (ORDER BY x.bore_id, x.station_m, x.mark_ref, x.kind, x.operator) AS key, x.*
    FROM (
        SELECT * FROM released
        UNION ALL
        SELECT c.bore_id, c.mark_id, c.mark_ref, c.kind, c.station_m, c.operator, c.facility_type, c.verdict,
            NULL
        FROM conflicts_crossing c WHERE c.bore_id IN (SELECT id FROM drilled) AND NOT EXISTS (
            SELECT 1 FROM released r
            WHERE r.bore_id = c.bore_id AND r.kind = c.kind AND coalesce(
                r.mark_id = c.mark_id, r.mark_ref = c.mark_ref))
    ) AS x
),
last_watches AS (
    SELECT DISTINCT ON (nearest.key, w.pass_made) nearest.key, w.pass_made, w.seen
    FROM conflicts_crossingwatch w
    CROSS JOIN LATERAL (
        SELECT min(c.key) AS key FROM (
            SELECT c.key, rank() OVER (ORDER BY abs(c.station_m - w.station_m)) AS place FROM crossings c
            WHERE c.bore_id = w.bore_id AND c.mark_id = w.mark_id AND c.kind = w.kind
        ) AS c WHERE c.place = 1 HAVING count(*) = 1
    ) AS nearest
    WHERE w.bore_id IN (SELECT id FROM drilled)
    ORDER BY nearest.key, w.pass_made, w.watched_at DESC, w.entered_at DESC, w.id
),
excused AS (
    -- Variances of the watch that were signed, with their passes, by their nearest crossing as for a watch.
    SELECT nearest.key, string_agg(DISTINCT v.pass_made || ': ' || s.signed_by_name, ', ') AS signed_by_name
    FROM conflicts_variance v JOIN conflicts_variancesignature s ON s.variance_id = v.id
    CROSS JOIN LATERAL (
        SELECT min(c.key) AS key FROM (
            SELECT c.key, rank() OVER (ORDER BY abs(c.station_m - v.station_m)) AS place FROM crossings c
            WHERE c.bore_id = v.bore_id AND c.mark_id = v.mark_id AND c.kind = v.kind
        ) AS c WHERE c.place = 1 HAVING count(*) = 1
    ) AS nearest
    WHERE v.subject = 'watch' AND v.pass_made <> '' AND v.bore_id IN (SELECT id FROM drilled)
    GROUP BY nearest.key
),
missing AS (
    SELECT c.key, array_agg(needed.pass_made ORDER BY needed.place) AS passes
    FROM crossings c JOIN conflicts_bore b ON b.id = c.bore_id
    JOIN (VALUES (1, 'pilot'), (2, 'reaming'), (3, 'pullback')) AS needed(place, pass_made)
        -- A hole that is not reamed has no such pass; where the pilot is not known, it is taken to have one.
        ON needed.pass_made <> 'reaming' OR b.pilot_diameter_m IS DISTINCT FROM b.final_diameter_m
    WHERE NOT EXISTS (
        SELECT 1 FROM last_watches w WHERE w.key = c.key AND w.pass_made = needed.pass_made AND w.seen)
    GROUP BY c.key
)
SELECT b.id, c.station_m, c.mark_ref, c.kind, c.operator, c.facility_type, c.verdict, c.release_id, x.passes,
    e.signed_by_name, b.name, j.name, j.time_zone, j.show_units, o.closed_at, o.closed_by_name
FROM missing x JOIN crossings c ON c.key = x.key
JOIN conflicts_bore b ON b.id = c.bore_id JOIN locates_job j ON j.id = b.job_id
LEFT JOIN conflicts_closeout o ON o.bore_id = b.id LEFT JOIN excused e ON e.key = c.key
WHERE (%(mark_ref)s = '' OR lower(c.mark_ref) = lower(%(mark_ref)s))
    AND (%(verdict)s = '' OR c.verdict = %(verdict)s)
"""

COUNTED = f"SELECT count(*) FROM ({UNWATCHED}) AS found"  # noqa: S608 - two constants

IN_ORDER = """
AND (%(bore_id)s::uuid IS NULL OR (b.id, c.station_m, c.mark_ref, c.kind, c.operator)
    > (%(bore_id)s::uuid, %(station_m)s::float8, %(ref)s::text, %(kind)s::text, %(operator)s::text))
ORDER BY b.id, c.station_m, c.mark_ref, c.kind, c.operator LIMIT %(most)s
"""


@dataclass(frozen=True)
class UnwatchedCrossing:
    """A crossing of a drilled bore, and the passes that nobody is recorded to have seen."""

    bore_id: UUID
    station_m: float
    mark_ref: str
    kind: str
    operator: str
    facility_type: str
    verdict: str
    release_id: UUID | None
    missing_passes: list[str]
    excused_by: str | None
    bore_name: str
    job_name: str
    time_zone: str
    show_units: str
    closed_at: datetime | None
    closed_by_name: str | None

    @property
    def place(self) -> tuple[UUID, float, str, str, str]:
        """Where it stands among the others."""
        return self.bore_id, self.station_m, self.mark_ref, self.kind, self.operator


def drilled_bores(filters: AuditFilters) -> QuerySet[Bore]:
    """Bores with a watch of any pass or a close-out, and those of which a released shift is over.

    Whether these were drilled in it nobody wrote down, and an unknown is never taken for the good.
    """
    watches = CrossingWatch.objects.filter(bore=OuterRef("pk"))
    stood = Q(withdrawal__isnull=True) | Q(withdrawal__withdrawn_at__gte=F("shift_until"))
    over = Release.objects.filter(stood, bore=OuterRef("pk"), shift_until__lte=Now())
    found = Bore.with_retired.filter(
        Q(close_out__isnull=False) | Exists(watches) | Exists(over),
        of_company(filters, "job"),
        _named(filters),
    )
    if filters.person:
        signed = Exists(watches.filter(by_person(filters, "watched_by_name")))
        signed |= Exists(over.filter(by_person(filters, "signed_by_name")))
        found = found.filter(by_person(filters, "close_out__closed_by_name") | signed)
    if filters.day_from or filters.day_to:
        # Greatest passes by what is null.
        known_at = Greatest(Max("watches__watched_at"), F("close_out__closed_at"))
        last_over = over.order_by("-shift_until").values("shift_until")[:1]
        found = found.alias(drilled_at=Coalesce(known_at, Subquery(last_over)))
        found = within_days(found, filters, "drilled_at", "job__time_zone")
    return found


def unwatched(filters: AuditFilters, after: tuple[Any, ...] | None, most: int) -> list[UnwatchedCrossing]:
    """Crossings with a missing pass, by bore and station; those after a place where one is given."""
    bore_id, station_m, ref, kind, operator = after or (None, None, None, None, None)
    place = {"bore_id": bore_id, "station_m": station_m, "ref": ref, "kind": kind, "operator": operator}
    return [UnwatchedCrossing(*one) for one in _asked(filters, UNWATCHED + IN_ORDER, {**place, "most": most})]


def count_unwatched(filters: AuditFilters) -> int:
    """How many crossings have a missing pass."""
    [(count,)] = _asked(filters, COUNTED, {})
    return count


def _named(filters: AuditFilters) -> Q:
    return Q(name__icontains=filters.bore) if filters.bore else Q()


def _asked(filters: AuditFilters, question: str, values: dict[str, Any]) -> list[tuple[Any, ...]]:
    bores, bore_values = chosen_sql(drilled_bores(filters), "bore")
    asked = {"mark_ref": filters.mark_ref, "verdict": filters.verdict, **bore_values, **values}
    with connection.cursor() as cursor:
        # Only the select of the bores is put in, with names of parameters; every value goes as one of these.
        cursor.execute(question.replace("{bores}", bores), asked)
        return cursor.fetchall()
