"""The crossings that releases name, which a bore may have passed whatever is recorded of them since."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db import connection

# A document names a line by its reference. A release keeps the marks besides; where it does not, of the marks
# of one reference the one is meant that was live then, and that is the first to be retired after it.
MARK_THEN = """
    LEFT JOIN LATERAL (
        -- The condition is asked in here, so that nothing is looked for where the mark was kept.
        SELECT m.id FROM locates_mark m JOIN conflicts_bore b ON b.job_id = m.job_id
        WHERE {unless} AND b.id = {of}.bore_id AND m.ref = c.crossing ->> 'mark_ref'
            AND (m.retired_at IS NULL OR m.retired_at > {of}.{at})
        ORDER BY m.retired_at NULLS LAST LIMIT 1
    ) AS mark ON true
"""
MARK_OF_RELEASED = "coalesce((r.crossing_marks ->> (c.ordinal - 1)::integer)::uuid, mark.id)"
MARK_OF_RELEASE = MARK_THEN.format(of="r", at="signed_at", unless="r.crossing_marks IS NULL")

# How far the same place of a bore may be off (`same_place_m`).
NEAR = """
    SELECT b.id AS bore_id,
        j.bore_horizontal_m + coalesce(j.tolerance_zone_m, r.tolerance_zone_m, 0) AS near_m
    FROM conflicts_bore b JOIN locates_job j ON j.id = b.job_id
    JOIN locates_jurisdictionrule r ON r.id = j.jurisdiction_id
"""

# Every release but one that was taken back before anybody might drill under it: the rod log is nobody's duty,
# so whether a shift was drilled is not known.
STOOD = "(w.id IS NULL OR w.withdrawn_at >= greatest(r.signed_at, r.shift_from))"

# What those name. Releases on the same inputs name the same crossings; a crossing that a later release names
# again, where it lay or near it, is that one's, but for the types under which any of them names the line.
NAMED_CROSSINGS = f"""
near AS MATERIALIZED (
    {NEAR.strip()}
    WHERE b.id IN (SELECT id FROM drilled)
),
drilled_under AS MATERIALIZED (
    SELECT DISTINCT ON (r.bore_id, r.inputs_digest) r.id, r.bore_id, r.document, r.crossing_marks, r.signed_at
    FROM conflicts_release r LEFT JOIN conflicts_releasewithdrawal w ON w.release_id = r.id
    WHERE r.bore_id IN (SELECT id FROM drilled) AND {STOOD}
    ORDER BY r.bore_id, r.inputs_digest, r.signed_at DESC, r.id
),
every_named AS MATERIALIZED (
    SELECT r.bore_id, r.id AS release_id, r.signed_at, c.ordinal, {MARK_OF_RELEASED} AS mark_id,
        coalesce(({MARK_OF_RELEASED})::text, c.crossing ->> 'mark_ref') AS line,
        c.crossing ->> 'mark_ref' AS mark_ref, c.crossing ->> 'kind' AS kind,
        (c.crossing ->> 'station_m')::float8 AS station_m,
        (c.crossing ->> 'from_m')::float8 AS from_m, (c.crossing ->> 'to_m')::float8 AS to_m,
        (c.crossing ->> 'worst_case_m')::float8 AS worst_case_m,
        (c.crossing ->> 'required_m')::float8 AS required_m,
        c.crossing ->> 'operator' AS operator, c.crossing ->> 'facility_type' AS facility_type,
        c.crossing ->> 'verdict' AS verdict
    FROM drilled_under r
    CROSS JOIN LATERAL jsonb_array_elements(r.document -> 'crossings') WITH ORDINALITY AS c(crossing, ordinal)
    {MARK_OF_RELEASE.strip()}
),
released AS MATERIALIZED (
    SELECT e.*, ARRAY(
        SELECT DISTINCT t.facility_type FROM every_named t
        WHERE t.bore_id = e.bore_id AND t.line = e.line AND t.facility_type IS NOT NULL
        ORDER BY t.facility_type) AS every_type
    FROM every_named e JOIN near n ON n.bore_id = e.bore_id
    WHERE NOT EXISTS (
        SELECT 1 FROM every_named l WHERE l.bore_id = e.bore_id AND l.kind = e.kind AND l.line = e.line
            AND (l.signed_at, l.release_id) > (e.signed_at, e.release_id)
            AND e.station_m BETWEEN l.from_m - n.near_m AND l.to_m + n.near_m)
)
"""  # noqa: S608 - constants

# Whether the bore of a release was to be reamed when that was signed: as it stood before the first change
# since. With an unknown pilot it was.
REAMED_THEN = """coalesce(
    (SELECT e.before ->> 'pilot_diameter_m' IS DISTINCT FROM e.before ->> 'final_diameter_m'
    FROM locates_recordevent e WHERE e.record_id = r.bore_id AND e.id > r.last_event_id
        AND e.table_name = 'conflicts_bore' AND e.before IS NOT NULL
    ORDER BY e.id LIMIT 1),
    b.pilot_diameter_m IS DISTINCT FROM b.final_diameter_m)"""

# For more bores the statement is dear enough for the server to compile it, which takes longer than to run it.
FEW = 20

# Of each bore: from when it might be drilled under a release, whether one named a reaming, when it was closed
# out, its rods where any were pulled back (as `RodOfHole`), what is named of it.
OF_BORES = f"""
WITH drilled AS MATERIALIZED (SELECT unnest(%(bores)s::uuid[]) AS id), {NAMED_CROSSINGS.strip()},
stood AS (
    SELECT r.bore_id, min(greatest(r.signed_at, r.shift_from)) AS released_from,
        bool_or({REAMED_THEN}) AS is_reamed
    FROM conflicts_release r JOIN conflicts_bore b ON b.id = r.bore_id
    LEFT JOIN conflicts_releasewithdrawal w ON w.release_id = r.id
    WHERE r.bore_id IN (SELECT id FROM drilled) AND {STOOD}
    GROUP BY r.bore_id
),
rods AS (
    SELECT r.bore_id, jsonb_agg(jsonb_build_array(
        r.id, r.after_id, r.number, r.length_m, r.pitch_ratio, r.dot_station_m,
        CASE WHEN w.kind = 'pull_back' THEN w.withdrawn_at END, r.logged_at, coalesce(w.kind = 'undo', false)
    )) AS rods
    FROM conflicts_drilledrod r LEFT JOIN conflicts_rodwithdrawal w ON w.rod_id = r.id
    WHERE r.bore_id IN (
        SELECT p.bore_id FROM conflicts_rodwithdrawal u JOIN conflicts_drilledrod p ON p.id = u.rod_id
        WHERE u.kind = 'pull_back' AND p.bore_id IN (SELECT id FROM drilled))
    GROUP BY r.bore_id
)
SELECT d.id, s.released_from, coalesce(s.is_reamed, false), o.closed_at, rods.rods,
    n.release_id::text, n.signed_at, coalesce(n.mark_id::text, ''), n.mark_ref, n.operator, n.facility_type,
    n.kind, n.station_m, n.from_m, n.to_m, n.verdict, n.worst_case_m, n.required_m,
    n.every_type
FROM drilled d LEFT JOIN stood s ON s.bore_id = d.id LEFT JOIN conflicts_closeout o ON o.bore_id = d.id
LEFT JOIN rods ON rods.bore_id = d.id LEFT JOIN released n ON n.bore_id = d.id
ORDER BY d.id, n.signed_at DESC, n.release_id, n.ordinal
"""  # noqa: S608 - constants


def named_crossings(bore_ids: Iterable[UUID]) -> list[tuple[Any, ...]]:
    """A row for each crossing that releases of bores name, the last named first; one of each bore at least.

    Before what is named of it, from when a bore might be drilled, whether it was to be reamed by any of them,
    when it was closed out, and its rods where any were pulled back.

    Asked within a transaction.
    """
    bores = list(bore_ids)
    with connection.cursor() as cursor:
        if len(bores) > FEW:
            cursor.execute("SET LOCAL jit = off")
        cursor.execute(OF_BORES, {"bores": bores})
        return cursor.fetchall()
