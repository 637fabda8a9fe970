"""What has changed of a bore's grounds since a moment in the record of events.

Every change counts, also one that was changed back: a release does not come to life again.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection

from conflicts.hole_passes import ROUNDING_M
from conflicts.models import Bore, DamageKind
from locates.models import RecordEvent

# Every ticket, answer, mark, test hole and surface feature of the job counts, wherever it lies: a far hole
# tells how deep a near line is, a far mark that an operator has marked, a far line what a feature belongs to.
# Ground points alone count within 100 ft of the bore, more than an assessment looks beside it.
NEAR_M = 30.48

# Tables, with what their records are called.
NAMES = {
    "locates_job": "the job",
    "locates_jurisdictionrule": "the rule",
    "locates_clearancerequirement": "a required clearance",
    "locates_facilityoperator": "operator",
    "locates_ticket": "ticket",
    "locates_response": "an operator\N{RIGHT SINGLE QUOTATION MARK}s answer",
    "locates_mark": "mark",
    "locates_testhole": "test hole",
    "locates_surfacefeature": "surface feature",
    "locates_groundpoint": "a ground point",
    "conflicts_bore": "the bore",
    "conflicts_pit": "a pit",
    "conflicts_dailywalk": "the day\N{RIGHT SINGLE QUOTATION MARK}s walk",
    "conflicts_variancesignature": "a variance",
    "conflicts_varianceend": "a variance",
    "conflicts_releasewithdrawal": "a release of the bore",
    "conflicts_camerainspection": "a camera inspection",
    "conflicts_closeout": "the close-out",
    "conflicts_damagereport": "damage",
    "conflicts_holepass": "a pass that left the hole wider than planned",
    "conflicts_holepasswithdrawal": "a pass that left the hole wider than planned",
}
SIGNED = {
    "conflicts_variancesignature": "signed",
    "conflicts_varianceend": "ended",
    "conflicts_releasewithdrawal": "withdrawn",
    "conflicts_damagereport": "reported",
    "conflicts_holepass": "logged",
    "conflicts_holepasswithdrawal": "withdrawn",
}

_SQL = """
SELECT bore.id, e.id, e.happened_at, e.table_name, e.action, e.person_name, e.before, e.after
FROM unnest(%(bores)s::uuid[], %(lasts)s::bigint[]) AS asked (bore_id, last_id)
JOIN conflicts_bore bore ON bore.id = asked.bore_id
JOIN locates_job job ON job.id = bore.job_id
CROSS JOIN LATERAL (
    SELECT * FROM locates_recordevent
    WHERE id > asked.last_id AND (
        job_id = job.id OR (table_name = 'locates_jurisdictionrule' AND record_id = job.jurisdiction_id))
) e
WHERE (
    e.table_name IN (
        'locates_job', 'locates_jurisdictionrule', 'locates_clearancerequirement', 'locates_facilityoperator',
        'locates_ticket', 'locates_response', 'locates_mark', 'locates_testhole', 'locates_surfacefeature')
    OR (e.table_name = 'conflicts_bore' AND e.record_id = bore.id)
    OR (e.table_name IN ('conflicts_pit', 'conflicts_camerainspection', 'conflicts_closeout')
        AND coalesce(e.after, e.before)->>'bore_id' = bore.id::text)
    OR (e.table_name = 'conflicts_dailywalk' AND e.after->>'bore_id' = bore.id::text AND NOT (
        (e.after->>'marks_intact')::boolean AND (e.after->>'device_checked')::boolean
        AND (e.after->>'holes_open')::boolean))
    OR (e.table_name = 'conflicts_damagereport'
        AND coalesce(e.after->>'bore_id', bore.id::text) = bore.id::text)
    OR (e.table_name IN ('conflicts_variancesignature', 'conflicts_varianceend') AND EXISTS (
        SELECT FROM conflicts_variance v
        WHERE v.id::text = e.after->>'variance_id' AND v.bore_id = bore.id))
    OR (e.table_name = 'conflicts_releasewithdrawal' AND EXISTS (
        SELECT FROM conflicts_release r
        WHERE r.id::text = e.after->>'release_id' AND r.bore_id = bore.id))
    OR (e.table_name = 'conflicts_holepass' AND e.after->>'bore_id' = bore.id::text
        AND (e.after->>'diameter_m')::float8 > bore.final_diameter_m + %(rounding_m)s)
    OR (e.table_name = 'conflicts_holepasswithdrawal' AND EXISTS (
        SELECT FROM conflicts_holepass h
        WHERE h.id::text = e.after->>'hole_pass_id' AND h.bore_id = bore.id
            AND h.diameter_m > bore.final_diameter_m + %(rounding_m)s))
    OR (e.table_name = 'locates_groundpoint' AND (
        ST_DWithin((e.before->>'position')::geometry::geography, bore.alignment::geography, %(near_m)s)
        OR ST_DWithin((e.after->>'position')::geometry::geography, bore.alignment::geography, %(near_m)s)))
)
ORDER BY bore.id, e.id
"""


@dataclass(frozen=True)
class GroundChange:
    """One change of a record that a bore's release rests on; ``event_id`` is its number in the record."""

    event_id: int
    happened_at: datetime
    what: str
    done: str
    by: str


def last_event_id() -> int:
    """The last change of any record that is known now."""
    return RecordEvent.objects.order_by("-id").values_list("id", flat=True).first() or 0


def changes_since(bore: Bore, event_id: int) -> list[GroundChange]:
    """Every change of what a bore's release rests on, after an event, in order.

    Parameters
    ----------
    bore : Bore
    event_id : int
        Of the last change that was known.
    """
    return changes_since_each({bore.pk: event_id})[bore.pk]


def changes_since_each(event_ids: Mapping[UUID, int]) -> dict[UUID, list[GroundChange]]:
    """The same of many bores, each since an event of its own, in one query.

    Parameters
    ----------
    event_ids : mapping of UUID to int
        Of each bore the last change that was known.
    """
    found: dict[UUID, list[GroundChange]] = {bore_id: [] for bore_id in event_ids}
    if not found:
        return found
    values = {
        "bores": list(event_ids),
        "lasts": list(event_ids.values()),
        "near_m": NEAR_M,
        "rounding_m": ROUNDING_M,
    }
    with connection.cursor() as cursor:
        cursor.execute(_SQL, values)
        for bore_id, *change in cursor.fetchall():
            found[bore_id].append(_change(*change))
    return found


def _change(
    event_id: int, happened_at: datetime, table: str, action: str, person: str, before: Any, after: Any
) -> GroundChange:
    row = RecordEvent(before=_read(before), after=_read(after))
    columns = row.after or row.before
    name = next((columns[key] for key in ("ref", "number", "name") if columns.get(key)), "")
    what = NAMES[table]
    if columns.get("kind") == DamageKind.NEAR_MISS:
        what = "a near miss"
    if not what.startswith(("the ", "a ", "an ")):
        what = f"{what} {name}".rstrip()
    return GroundChange(event_id, happened_at, what, _done(table, action, row), person)


def _read(value: Any) -> Any:
    return RecordEvent._meta.get_field("after").from_db_value(value, None, connection)


def _done(table: str, action: str, row: RecordEvent) -> str:
    if table in SIGNED:
        return SIGNED[table]
    if action == "update":
        was, become = row.before.get("retired_at"), row.after.get("retired_at")
        if bool(was) != bool(become):
            return "brought back" if was else "retired"
    return {"insert": "added", "update": "changed", "delete": "deleted"}[action]
