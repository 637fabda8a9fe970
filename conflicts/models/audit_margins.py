"""Margins of released crossings, of watches and of drilled holes together: the least first, or by time."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from conflicts.audit.figures import EveryMargin, MarginFigures
from conflicts.models.audit_crossings import FIGURES_OF_ALONE, rows_uncompiled
from conflicts.models.audit_filters import OF_LINE, AuditFilters, called_sql
from conflicts.models.audit_records import all_drilled_alone, all_releases, all_watches
from conflicts.models.chosen_rows import chosen_sql
from conflicts.models.named_crossings import MARK_OF_RELEASE, MARK_OF_RELEASED, NEAR

# What a release required is in its own document, what a watch required in the watch: the records may have
# changed since. A watch is of the crossing of its mark and kind nearest in station in the last release before
# it, of those within whose reach it lies, and of none where two are equally near (`crossing_of_watch`).
MARGINS = f"""
WITH called AS MATERIALIZED ({{called}}),
chosen_releases AS MATERIALIZED ({{releases}}), chosen_watches AS MATERIALIZED ({{watches}}),
chosen_holes AS MATERIALIZED ({{holes}}),
near AS MATERIALIZED ({NEAR}),
watches AS MATERIALIZED (
    SELECT w.*, m.ref AS mark_ref, last.id AS release_id
    FROM chosen_watches c
    JOIN conflicts_crossingwatch w ON w.id = c.id
    JOIN locates_mark m ON m.id = w.mark_id
    LEFT JOIN LATERAL (
        SELECT r.id FROM conflicts_release r WHERE r.bore_id = w.bore_id AND r.signed_at <= w.watched_at
        ORDER BY r.signed_at DESC, r.id LIMIT 1
    ) AS last ON true
),
released AS MATERIALIZED (
    SELECT r.id, r.bore_id, r.signed_at, r.signed_by_name, r.excused_by, c.ordinal,
        {MARK_OF_RELEASED} AS mark_id, c.crossing ->> 'mark_ref' AS mark_ref,
        c.crossing ->> 'kind' AS kind, c.crossing ->> 'verdict' AS verdict,
        (c.crossing ->> 'station_m')::float8 AS station_m,
        (c.crossing ->> 'from_m')::float8 AS from_m, (c.crossing ->> 'to_m')::float8 AS to_m,
        (c.crossing ->> 'required_m')::float8 AS required_m,
        (c.crossing ->> 'worst_case_m')::float8 AS worst_case_m
    FROM (
        SELECT r.* FROM conflicts_release r
        WHERE r.id IN (SELECT id FROM chosen_releases UNION SELECT release_id FROM watches)
        OFFSET 0 -- Chosen first: no document of another company is opened.
    ) AS r
    CROSS JOIN LATERAL jsonb_array_elements(r.document -> 'crossings')
        WITH ORDINALITY AS c(crossing, ordinal)
    {MARK_OF_RELEASE}
),
watched AS (
    SELECT x.* FROM (
        SELECT w.id AS watch_id, r.verdict, r.from_m, r.to_m,
            rank() OVER (PARTITION BY w.id ORDER BY abs(r.station_m - w.station_m)) AS place,
            count(*) OVER (PARTITION BY w.id, abs(r.station_m - w.station_m)) AS alike
        FROM watches w
        JOIN released r ON r.id = w.release_id AND r.mark_id = w.mark_id AND r.kind = w.kind
        JOIN near n ON n.bore_id = w.bore_id
        WHERE w.station_m BETWEEN r.from_m - n.near_m AND r.to_m + n.near_m
    ) AS x WHERE x.place = 1 AND x.alike = 1
),
margins AS (
    SELECT r.id, r.ordinal, false AS is_measured, false AS is_drilled, r.bore_id, r.mark_id, r.mark_ref,
        r.kind, '' AS pass_made,
        r.verdict, r.station_m, r.worst_case_m AS left_m, r.required_m,
        r.worst_case_m - r.required_m AS margin_m, r.signed_at AS at, r.signed_by_name AS person,
        r.from_m, r.to_m, r.excused_by
    FROM released r WHERE r.id IN (SELECT id FROM chosen_releases)
    UNION ALL
    SELECT w.id, 0, true, r.watch_id IS NULL AND EXISTS (
            SELECT FROM conflicts_drilledalonecrossing h JOIN near n ON n.bore_id = h.bore_id
            WHERE h.bore_id = w.bore_id AND h.mark_id = w.mark_id AND h.kind = w.kind
                AND w.station_m BETWEEN h.from_m - n.near_m AND h.to_m + n.near_m),
        w.bore_id, w.mark_id, w.mark_ref, w.kind, w.pass_made, coalesce(r.verdict, ''),
        w.station_m, w.gap_m, w.required_m, w.gap_m - w.required_m, w.watched_at, w.watched_by_name,
        r.from_m, r.to_m, NULL
    FROM watches w LEFT JOIN watched r ON r.watch_id = w.id
    UNION ALL
    SELECT h.id, 0, false, true, h.bore_id, h.mark_id, h.mark_ref, h.kind, '',
        h.verdict_now, h.station_m, h.worst_now_m, h.required_now_m, h.worst_now_m - h.required_now_m,
        h.drilled_at, h.drilled_by_name, h.from_m, h.to_m, NULL
    FROM (
        SELECT h.*,
        {FIGURES_OF_ALONE}
        FROM conflicts_drilledalonecrossing h LEFT JOIN conflicts_reassessment w ON w.bore_id = h.bore_id
        WHERE h.id IN (SELECT id FROM chosen_holes)
    ) AS h
),
narrowed AS (
    SELECT x.*, coalesce(x.margin_m, '-Infinity') AS place FROM margins x
    WHERE {OF_LINE.format(one="x")}
        AND (%(verdict)s = '' OR x.verdict = %(verdict)s)
)
"""  # noqa: S608 - constants

# A variance for the clearance is one of the crossing's mark, kind and verdict, signed for a place within it,
# of no worse margin and in force then, as `variance_for_clearance` has it; a release says which it rests on,
# but for those signed before that was kept. One for the watch excuses a gap that its signer was shown. A hole
# as drilled is excused by what is in force now, as `variance_for_drilled` has it.
UNDER_VARIANCE = """
SELECT 1 FROM conflicts_variance v
JOIN conflicts_variancesignature s ON s.variance_id = v.id
LEFT JOIN conflicts_varianceend e ON e.variance_id = v.id
WHERE v.bore_id = x.bore_id AND v.mark_id = x.mark_id AND v.kind = x.kind AND (
    NOT x.is_drilled AND v.subject = 'crossing' AND v.station_m BETWEEN x.from_m AND x.to_m AND CASE
        WHEN x.excused_by IS NOT NULL THEN x.excused_by ? v.id::text
        ELSE x.at >= s.valid_from AND x.at < least(s.valid_until, e.ended_at) AND s.verdict = x.verdict
            AND x.verdict NOT IN ('clear', 'overlap')
            AND (x.is_measured OR coalesce(
                x.margin_m >= s.worst_case_m - s.required_m - 1e-6,
                x.margin_m IS NULL AND s.worst_case_m IS NULL AND x.required_m <= s.required_m + 1e-6))
        END
    OR x.is_measured AND v.subject = 'watch' AND v.pass_made = x.pass_made
        AND s.valid_from < least(s.valid_until, e.ended_at) AND EXISTS (
            SELECT 1 FROM jsonb_array_elements(CASE jsonb_typeof(s.faults) WHEN 'array' THEN s.faults END)
                AS f(fault) WHERE f.fault ->> 0 = x.id::text)
    OR x.is_drilled AND NOT x.is_measured AND v.station_m BETWEEN x.from_m AND x.to_m
        AND (v.subject = 'drilled' OR v.subject = 'crossing' AND x.verdict <> 'overlap')
        AND x.verdict <> 'clear' AND s.verdict = x.verdict
        AND now() >= s.valid_from AND now() < least(s.valid_until, e.ended_at) AND coalesce(
            x.margin_m >= s.worst_case_m - s.required_m - 1e-6,
            x.margin_m IS NULL AND s.worst_case_m IS NULL AND x.required_m <= s.required_m + 1e-6))
"""

ROWS = f"""
SELECT x.id, x.ordinal, x.is_measured, x.is_drilled, x.mark_ref, x.kind, x.pass_made, x.verdict, x.station_m,
    x.left_m, x.required_m, x.margin_m, x.at, x.person, EXISTS ({UNDER_VARIANCE}), b.id, b.retired_at,
    b.name, j.name, j.time_zone, j.show_units
FROM ({{listed}}) AS x JOIN conflicts_bore b ON b.id = x.bore_id JOIN locates_job j ON j.id = b.job_id
ORDER BY {{order}}
"""  # noqa: S608 - constants

# An unknown margin stands before all known ones.
LEAST_FIRST = """
SELECT x.* FROM narrowed x
WHERE %(place)s::float8 IS NULL
    OR (x.place, x.at, x.id, x.ordinal)
        > (%(place)s::float8, %(at)s::timestamptz, %(id)s::uuid, %(ordinal)s::bigint)
ORDER BY x.place, x.at, x.id, x.ordinal LIMIT %(most)s
"""

# Of each stretch of time and each kind the least, and the greatest of the others; where there are few, all.
PLOTTED = """
SELECT p.at, p.margin_m, p.is_measured, p.is_drilled, b.name, p.mark_ref, j.time_zone, j.show_units,
    CASE WHEN p.total > 2 * %(columns)s THEN p.greatest_m ELSE p.margin_m END, p.total
FROM (
    SELECT x.*, count(*) OVER () AS total,
        max(x.margin_m) OVER (PARTITION BY x.is_measured, x.is_drilled, x.stretch) AS greatest_m,
        row_number() OVER (
            PARTITION BY x.is_measured, x.is_drilled, x.stretch
            ORDER BY x.margin_m, x.at, x.id, x.ordinal) AS rank
    FROM (
        SELECT n.*, width_bucket(
            extract(epoch FROM n.at)::float8, span.first, span.last + 1, %(columns)s) AS stretch
        FROM narrowed n, (
            SELECT min(extract(epoch FROM at))::float8 AS first, max(extract(epoch FROM at))::float8 AS last
            FROM narrowed WHERE margin_m IS NOT NULL
        ) AS span
        WHERE n.margin_m IS NOT NULL
    ) AS x
) AS p JOIN conflicts_bore b ON b.id = p.bore_id JOIN locates_job j ON j.id = b.job_id
WHERE p.rank = 1 OR p.total <= 2 * %(columns)s
ORDER BY p.at, p.is_measured, p.is_drilled, b.name, p.mark_ref, p.margin_m
"""

LEAST_ROWS = ROWS.format(listed=LEAST_FIRST, order="x.place, x.at, x.id, x.ordinal")

FIGURES = """
SELECT CASE WHEN x.is_measured THEN 'watches' WHEN x.is_drilled THEN 'holes' ELSE 'releases' END,
    count(*), count(x.margin_m), min(x.margin_m),
    percentile_cont(0.5) WITHIN GROUP (ORDER BY x.margin_m), count(*) FILTER (WHERE x.margin_m < 0)
FROM narrowed x GROUP BY 1
"""


@dataclass(frozen=True)
class MarginRow:
    """One margin: what was left when a release was signed, on a watch, or as drilled, less what is required.

    ``is_drilled`` is of a line that the drilled hole alone meets.
    """

    id: UUID
    ordinal: int
    is_measured: bool
    is_drilled: bool
    mark_ref: str
    kind: str
    pass_made: str
    verdict: str
    station_m: float
    left_m: float | None
    required_m: float | None
    margin_m: float | None
    at: datetime
    person: str
    is_under_variance: bool
    bore_id: UUID
    bore_retired_at: datetime | None
    bore_name: str
    job_name: str
    time_zone: str
    show_units: str

    @property
    def place(self) -> tuple[float, datetime, UUID, int]:
        """Where it stands among the others, the least first."""
        known = float("-inf") if self.margin_m is None else self.margin_m
        return known, self.at, self.id, self.ordinal


@dataclass(frozen=True)
class PlottedMargin:
    """One known margin of the plot, and the greatest of those for which it stands."""

    at: datetime
    margin_m: float
    is_measured: bool
    is_drilled: bool
    bore_name: str
    mark_ref: str
    time_zone: str
    show_units: str
    greatest_m: float


def least_margins(filters: AuditFilters, after: tuple[Any, ...] | None, most: int) -> list[MarginRow]:
    """The least margins, unknown ones first; those after a place where one is given."""
    place, at, row, ordinal = after or (None, None, None, None)
    values = {"place": place, "at": at, "id": row, "ordinal": ordinal, "most": most}
    return [MarginRow(*one) for one in _asked(filters, LEAST_ROWS, values)]


def plotted_margins(filters: AuditFilters, columns: int) -> tuple[list[PlottedMargin], int]:
    """The known margins of a plot in order of time, and how many there are.

    Of more than twice as many as columns only the least of each stretch of time and kind.
    """
    found = _asked(filters, PLOTTED, {"columns": columns})
    return [PlottedMargin(*one[:-1]) for one in found], found[0][-1] if found else 0


def margin_figures(filters: AuditFilters) -> EveryMargin:
    """Figures of all margins, by what they are of."""
    return EveryMargin(**{name: MarginFigures(*rest) for name, *rest in _asked(filters, FIGURES, {})})


def _asked(filters: AuditFilters, question: str, values: dict[str, Any]) -> list[tuple[Any, ...]]:
    releases, release_values = chosen_sql(all_releases(filters), "release")
    watches, watch_values = chosen_sql(all_watches(filters), "watch")
    holes, hole_values = chosen_sql(all_drilled_alone(filters), "hole")
    called, called_values = called_sql(filters)
    # Only names of tables and columns are put in; every value goes as a parameter.
    chosen = MARGINS.replace("{releases}", releases).replace("{watches}", watches).replace("{holes}", holes)
    asked = {**called_values, "verdict": filters.verdict, **release_values, **watch_values, **hole_values}
    return rows_uncompiled(chosen.replace("{called}", called) + question, {**asked, **values})
