"""From when to when bores were drilled, and which of them in the days that an audit looks at."""

from typing import Any

from conflicts.models.audit_filters import AuditFilters

# A bore was drilled from the first of what was recorded of its drilling to the last; on which of the days
# between nobody wrote down, so each of them counts.
DRILLED = """
begun AS MATERIALIZED ({bores}),
drilling AS MATERIALIZED (
    SELECT x.bore_id, min(x.began_at) AS began_at, max(x.ended_at) AS ended_at
    FROM (
        SELECT w.bore_id, w.watched_at, w.watched_at FROM conflicts_crossingwatch w
        UNION ALL
        SELECT d.bore_id, d.logged_at, d.logged_at
        FROM conflicts_drilledrod d LEFT JOIN conflicts_rodwithdrawal u ON u.rod_id = d.id AND u.kind = 'undo'
        WHERE u.id IS NULL
        UNION ALL
        SELECT p.bore_id, p.made_at, coalesce(p.ended_at, p.logged_at)
        FROM conflicts_holepass p LEFT JOIN conflicts_holepasswithdrawal u ON u.hole_pass_id = p.id
        WHERE u.id IS NULL
        UNION ALL
        SELECT o.bore_id, o.closed_at, o.closed_at FROM conflicts_closeout o
        UNION ALL
        SELECT r.bore_id, r.shift_from, r.shift_until
        FROM conflicts_release r LEFT JOIN conflicts_releasewithdrawal e ON e.release_id = r.id
        WHERE r.shift_until <= statement_timestamp() AND (e.id IS NULL OR e.withdrawn_at >= r.shift_until)
    ) AS x(bore_id, began_at, ended_at)
    WHERE x.bore_id IN (SELECT id FROM begun) GROUP BY x.bore_id
),
drilled AS MATERIALIZED (
    SELECT g.bore_id AS id
    FROM drilling g JOIN conflicts_bore b ON b.id = g.bore_id JOIN locates_job j ON j.id = b.job_id
    WHERE coalesce(timezone(j.time_zone, g.ended_at)::date >= %(day_from)s::date, true)
        AND coalesce(timezone(j.time_zone, g.began_at)::date <= %(day_to)s::date, true)
)
"""


def days_of(filters: AuditFilters) -> dict[str, Any]:
    """The days as a statement that holds `DRILLED` asks for them."""
    return {"day_from": filters.day_from, "day_to": filters.day_to}
