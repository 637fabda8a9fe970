"""Crossings of drilled bores for which a variance was in force while they were drilled, or is now."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from conflicts.models.audit_crossings import DRILLED_CROSSINGS, ask_of_drilled
from conflicts.models.audit_filters import OF_LINE, AuditFilters
from conflicts.models.audit_records import variances
from conflicts.models.chosen_rows import chosen_sql

# A variance for a clearance is one of a crossing of its verdict and of no worse margin, as
# `variance_for_clearance` has it; one signed before that was kept was bound to nothing.
EXCUSED = f"""
WITH {DRILLED_CROSSINGS},
chosen AS MATERIALIZED ({{variances}}),
signed AS (
    SELECT v.*, s.signed_by_name, s.signed_at, s.valid_from, s.valid_until, e.ended_at, e.ended_by_name,
        s.verdict AS signed_verdict, s.worst_case_m AS signed_worst_m, s.required_m AS signed_required_m,
        least(s.valid_until, e.ended_at) AS over_at
    FROM conflicts_variance v JOIN conflicts_variancesignature s ON s.variance_id = v.id
    LEFT JOIN conflicts_varianceend e ON e.variance_id = v.id
    WHERE v.id IN (SELECT id FROM chosen) AND v.subject <> 'check'
)
SELECT v.id, b.id, c.station_m, c.mark_ref, c.kind, c.operator, c.facility_type, c.verdict, c.release_id,
    c.is_drilled, v.subject, v.pass_made, v.reason, v.signed_by_name, v.signed_at, v.valid_from,
    v.valid_until, v.ended_at, v.ended_by_name, v.valid_from <= now() AND now() < v.over_at,
    b.name, j.name, j.time_zone, j.show_units, b.retired_at
FROM crossings c JOIN signed v ON v.bore_id = c.bore_id AND v.mark_id = c.mark_id AND v.kind = c.kind
    AND v.station_m BETWEEN c.from_m AND c.to_m
JOIN drilling d ON d.bore_id = c.bore_id
JOIN conflicts_bore b ON b.id = c.bore_id JOIN locates_job j ON j.id = b.job_id
WHERE v.valid_from < v.over_at
    AND (v.valid_from <= d.ended_at AND d.began_at < v.over_at
        OR v.valid_from <= now() AND now() < v.over_at)
    AND (v.subject IN ('watch', 'gone', 'drilled') OR v.signed_verdict = ''
        OR v.signed_verdict = c.verdict AND coalesce(
        c.worst_case_m - c.required_m >= v.signed_worst_m - v.signed_required_m - 1e-6,
        c.worst_case_m IS NULL AND v.signed_worst_m IS NULL AND c.required_m <= v.signed_required_m + 1e-6))
    AND {OF_LINE.format(one="c")}
    AND (%(verdict)s = '' OR c.verdict = %(verdict)s)
"""  # noqa: S608 - constants

COUNTED = f"SELECT count(*) FROM ({EXCUSED}) AS found"  # noqa: S608 - two constants

IN_ORDER = """
AND (%(bore_id)s::uuid IS NULL OR (b.id, c.station_m, c.mark_ref, c.kind, v.id)
    > (%(bore_id)s::uuid, %(station_m)s::float8, %(ref)s::text, %(kind)s::text, %(variance_id)s::uuid))
ORDER BY b.id, c.station_m, c.mark_ref, c.kind, v.id LIMIT %(most)s
"""


@dataclass(frozen=True)
class ExcusedCrossing:
    """A crossing of a drilled bore, and a variance for its clearance or for the watch of a pass."""

    variance_id: UUID
    bore_id: UUID
    station_m: float
    mark_ref: str
    kind: str
    operator: str
    facility_type: str
    verdict: str
    release_id: UUID | None
    is_drilled: bool
    subject: str
    pass_made: str
    reason: str
    signed_by_name: str
    signed_at: datetime
    valid_from: datetime
    valid_until: datetime
    ended_at: datetime | None
    ended_by_name: str | None
    is_in_force: bool
    bore_name: str
    job_name: str
    time_zone: str
    show_units: str
    bore_retired_at: datetime | None

    @property
    def place(self) -> tuple[UUID, float, str, str, UUID]:
        """Where it stands among the others."""
        return self.bore_id, self.station_m, self.mark_ref, self.kind, self.variance_id


def excused(filters: AuditFilters, after: tuple[Any, ...] | None, most: int) -> list[ExcusedCrossing]:
    """Crossings drilled under a variance, by bore and station; those after a place where one is given.

    The days are those of the drilling, a person is one who asked for the variance, signed or ended it.
    """
    bore_id, station_m, ref, kind, variance_id = after or (None, None, None, None, None)
    place = {
        "bore_id": bore_id,
        "station_m": station_m,
        "ref": ref,
        "kind": kind,
        "variance_id": variance_id,
        "most": most,
    }
    return [ExcusedCrossing(*one) for one in _asked(filters, EXCUSED + IN_ORDER, place)]


def count_excused(filters: AuditFilters) -> int:
    """How many crossings were drilled under a variance, each as often as there is one."""
    [(count,)] = _asked(filters, COUNTED, {})
    return count


def _asked(filters: AuditFilters, question: str, values: dict[str, Any]) -> list[tuple[Any, ...]]:
    whenever = replace(filters, day_from=None, day_to=None)
    found, found_values = chosen_sql(variances(whenever), "variance")
    return ask_of_drilled(
        replace(filters, person=""), question.replace("{variances}", found), {**values, **found_values}
    )
