"""Crossings of drilled bores for which a watch of a pass is missing."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from conflicts.models.audit_crossings import DRILLED_CROSSINGS, WATCHED, ask_of_drilled
from conflicts.models.audit_filters import OF_LINE, AuditFilters
from conflicts.models.audit_logged_to import logged_to_m
from conflicts.models.audit_pulled_back import PULLED_BACK, pulled_back_json
from conflicts.models.named_crossings import REAMED_THEN, STOOD

# The last watch of a pass counts, unless a pass of its kind went by after it or rods were pulled back from
# there (`watch_table`).
UNWATCHED = f"""
WITH {DRILLED_CROSSINGS}, {WATCHED},
last_watches AS (
    SELECT x.key, x.pass_made, x.seen
    FROM (
        SELECT DISTINCT ON (w.key, w.pass_made) w.key, w.pass_made, w.seen, w.watched_at FROM watched w
        ORDER BY w.key, w.pass_made, w.watched_at DESC, w.entered_at DESC, w.id DESC
    ) AS x JOIN crossings c ON c.key = x.key
    WHERE NOT EXISTS (
        SELECT FROM conflicts_holepass h LEFT JOIN conflicts_holepasswithdrawal u ON u.hole_pass_id = h.id
        WHERE h.bore_id = c.bore_id AND h.kind = x.pass_made AND u.id IS NULL AND h.made_at > x.watched_at
            AND coalesce(h.from_station_m <= c.to_m, true) AND coalesce(h.to_station_m >= c.from_m, true)
    ) AND NOT EXISTS (
        SELECT FROM {PULLED_BACK} WHERE p.bore_id = c.bore_id AND c.leg = '' AND p.from_m <= c.reach_to_m
            AND coalesce(x.watched_at <= p.anew_from, true)
    )
),
excused AS (
    -- Variances of the watch that were signed for a place within the crossing, with their passes; and those
    -- for one that is gone as a whole.
    SELECT c.key, string_agg(
        DISTINCT CASE v.subject WHEN 'gone' THEN 'all' ELSE v.pass_made END || ': ' || s.signed_by_name, ', '
    ) AS signed_by_name
    FROM conflicts_variance v JOIN conflicts_variancesignature s ON s.variance_id = v.id
    JOIN crossings c ON c.bore_id = v.bore_id AND c.mark_id = v.mark_id AND c.kind = v.kind
        AND v.station_m BETWEEN c.from_m AND c.to_m
    WHERE v.subject = 'watch' AND v.pass_made <> '' OR v.subject = 'gone'
    GROUP BY c.key
),
missing AS (
    SELECT c.key, array_agg(needed.pass_made ORDER BY needed.place) AS passes
    FROM crossings c JOIN conflicts_bore b ON b.id = c.bore_id
    JOIN (VALUES (1, 'pilot'), (2, 'reaming'), (3, 'pullback')) AS needed(place, pass_made)
        ON CASE WHEN c.leg <> '' AND needed.pass_made <> 'pilot'
            -- No later pass goes where the pilot was pulled back, unless somebody saw one there.
            AND NOT EXISTS (SELECT FROM watched l WHERE l.key = c.key AND l.pass_made <> 'pilot') THEN false
        WHEN c.passes IS NULL
            -- A hole that is not reamed has no such pass; of an unknown pilot it is taken to have one, and
            -- one that a release was signed for to be reamed has it.
            THEN needed.pass_made <> 'reaming' OR b.pilot_diameter_m IS DISTINCT FROM b.final_diameter_m
                OR EXISTS (
                    SELECT FROM conflicts_holepass h
                    LEFT JOIN conflicts_holepasswithdrawal u ON u.hole_pass_id = h.id
                    WHERE h.bore_id = b.id AND h.kind = 'reaming' AND u.id IS NULL)
                OR EXISTS (
                    SELECT FROM conflicts_release r
                    LEFT JOIN conflicts_releasewithdrawal w ON w.release_id = r.id
                    WHERE r.bore_id = b.id AND {STOOD} AND {REAMED_THEN})
            ELSE EXISTS (
                SELECT 1 FROM jsonb_array_elements(c.passes) AS p(pass)
                WHERE p.pass ->> 'pass' = needed.pass_made
                    AND (NOT (p.pass ->> 'seen')::boolean OR (p.pass ->> 'is_outdated')::boolean))
            END
    LEFT JOIN last_watches w ON w.key = c.key AND w.pass_made = needed.pass_made AND w.seen
    WHERE w.key IS NULL
    GROUP BY c.key
)
SELECT b.id, c.station_m, c.mark_ref, c.kind, c.operator, c.facility_type, c.verdict, c.release_id, x.passes,
    c.is_drilled, e.signed_by_name, b.name, j.name, j.time_zone, j.show_units, o.closed_at, o.closed_by_name,
    b.retired_at
FROM missing x JOIN crossings c ON c.key = x.key
JOIN conflicts_bore b ON b.id = c.bore_id JOIN locates_job j ON j.id = b.job_id
LEFT JOIN conflicts_closeout o ON o.bore_id = b.id LEFT JOIN excused e ON e.key = c.key
WHERE {OF_LINE.format(one="c")}
    AND (%(verdict)s = '' OR c.verdict = %(verdict)s)
"""  # noqa: S608 - constants

COUNTED = f"SELECT count(*) FROM ({UNWATCHED}) AS found"  # noqa: S608 - two constants

IN_ORDER = """
AND (%(bore_id)s::uuid IS NULL OR (b.id, c.station_m, c.mark_ref, c.kind, c.operator)
    > (%(bore_id)s::uuid, %(station_m)s::float8, %(ref)s::text, %(kind)s::text, %(operator)s::text))
ORDER BY b.id, c.station_m, c.mark_ref, c.kind, c.operator LIMIT %(most)s
"""


@dataclass(frozen=True)
class UnwatchedCrossing:
    """A crossing of a drilled bore, and its passes that nobody saw since they were last made.

    ``logged_to_m`` is how far the rods of its bore were ever logged, None where none was.
    """

    bore_id: UUID
    station_m: float
    mark_ref: str
    kind: str
    operator: str
    facility_type: str
    verdict: str
    release_id: UUID | None
    missing_passes: list[str]
    is_drilled: bool
    excused_by: str | None
    bore_name: str
    job_name: str
    time_zone: str
    show_units: str
    closed_at: datetime | None
    closed_by_name: str | None
    bore_retired_at: datetime | None
    logged_to_m: float | None = None

    @property
    def place(self) -> tuple[UUID, float, str, str, str]:
        """Where it stands among the others."""
        return self.bore_id, self.station_m, self.mark_ref, self.kind, self.operator


def unwatched(filters: AuditFilters, after: tuple[Any, ...] | None, most: int) -> list[UnwatchedCrossing]:
    """Crossings with a missing pass, by bore and station; those after a place where one is given."""
    bore_id, station_m, ref, kind, operator = after or (None, None, None, None, None)
    pulled = pulled_back_json(filters)
    place = {"bore_id": bore_id, "station_m": station_m, "ref": ref, "kind": kind, "operator": operator}
    found = [
        UnwatchedCrossing(*one)
        for one in ask_of_drilled(filters, UNWATCHED + IN_ORDER, {**place, "most": most, "pulled": pulled})
    ]
    logged = logged_to_m(one.bore_id for one in found)
    return [replace(one, logged_to_m=logged.get(one.bore_id)) for one in found]


def count_unwatched(filters: AuditFilters) -> int:
    """How many crossings have a missing pass."""
    [(count,)] = ask_of_drilled(filters, COUNTED, {"pulled": pulled_back_json(filters)})
    return count
