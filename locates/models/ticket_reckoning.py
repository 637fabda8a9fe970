"""How tickets stand and what they ask for, reckoned set-wise: one statement for any number of tickets.

An unknown is never a yes. A ticket without a legal start or an expiry is undated until somebody enters them;
one that has run out stays expired until it is renewed or its work is said to be finished. A later ticket
takes over only when it was called after, its expiry is known and its own legal start has come. Where no
deadline for the answers is known, an answer that is missing at the legal start is overdue. An answer with a
time that is still to come has not come.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection

from locates.answers import FINAL_RESPONSES

OF_TICKETS = "SELECT unnest(%(tickets)s::uuid[]) AS id"
OF_JOBS = "SELECT id FROM locates_ticket WHERE job_id = ANY(%(jobs)s::uuid[])"

# Whoever saves a record holds its job and its ticket until the end: their tickets are left to them. What is
# taken here is all that a batch needs: a sweep waits for nobody, and whoever saves for one batch at most.
TAKE_DUE = """
SELECT standing.ticket_id
FROM locates_ticketstanding AS standing
JOIN locates_ticket AS ticket ON ticket.id = standing.ticket_id
JOIN locates_job AS job ON job.id = standing.job_id
WHERE standing.changes_at <= %(at)s
ORDER BY standing.changes_at
LIMIT %(most)s
FOR UPDATE OF standing SKIP LOCKED
FOR KEY SHARE OF ticket, job SKIP LOCKED
"""

# A statement of its own, so that the next one sees what whoever held them has written.
HOLD_JOBS = """
SELECT ticket_id FROM locates_ticketstanding WHERE job_id = ANY(%(jobs)s::uuid[])
ORDER BY ticket_id FOR UPDATE
"""

# In the same order, so that it and whoever saves wait for each other in turn and not in a ring.
ASK_AGAIN = """
UPDATE locates_ticketstanding AS standing SET changes_at = %(at)s
FROM (
    SELECT ticket_id FROM locates_ticketstanding WHERE organisation_id = %(organisation)s
    ORDER BY ticket_id FOR UPDATE
) AS held
WHERE held.ticket_id = standing.ticket_id
"""

LIVE = """
live AS MATERIALIZED (
    SELECT ticket.id, ticket.job_id, job.organisation_id, ticket.number, ticket.called_at,
        ticket.legal_start_at, ticket.latest_start_at, ticket.renew_by, ticket.expires_at,
        ticket.work_finished_at, coalesce(ticket.response_due_at, ticket.legal_start_at) AS answers_due_at,
        make_interval(hours => organisation.desk_lead_hours) AS lead
    FROM chosen
    JOIN locates_ticket AS ticket ON ticket.id = chosen.id AND ticket.retired_at IS NULL
    JOIN locates_job AS job ON job.id = ticket.job_id AND job.retired_at IS NULL
    JOIN locates_organisation AS organisation ON organisation.id = job.organisation_id
)"""

BESIDE = """
answers AS (
    SELECT ticket_id, count(*) AS named,
        count(*) FILTER (WHERE response <> ALL(%(final)s) OR responded_at > %(at)s) AS awaited,
        min(responded_at) FILTER (WHERE responded_at > %(at)s) AS comes_at
    FROM (
        SELECT DISTINCT ON (response.ticket_id, response.operator_id)
            response.ticket_id, response.response, response.responded_at
        FROM live
        JOIN locates_response AS response ON response.ticket_id = live.id AND response.retired_at IS NULL
        ORDER BY response.ticket_id, response.operator_id, response.sequence DESC
    ) AS latest
    GROUP BY ticket_id
),
later AS (
    SELECT live.id AS ticket_id,
        bool_or(next.legal_start_at <= %(at)s AND next.expires_at IS NOT NULL) AS took_over,
        min(next.legal_start_at) FILTER (
            WHERE next.legal_start_at > %(at)s AND next.expires_at IS NOT NULL
        ) AS takes_over_at,
        bool_or(next.legal_start_at <= live.expires_at AND next.expires_at > live.expires_at)
            AS leaves_no_gap,
        bool_or(next.ticket_kind = 're_mark') AS is_re_marked
    FROM live
    JOIN locates_ticket AS next ON next.job_id = live.job_id AND next.previous_number = live.number
        AND next.previous_number <> '' AND next.called_at > live.called_at AND next.retired_at IS NULL
    GROUP BY live.id
),
gone AS (
    SELECT mark.ticket_id, min(coalesce(mark.edited_at, mark.marked_at)) AS told_at
    FROM live
    JOIN locates_mark AS mark ON mark.ticket_id = live.id AND mark.is_intact IS FALSE
        AND mark.retired_at IS NULL
    GROUP BY mark.ticket_id
)"""

STANDS = """
stands AS MATERIALIZED (
    SELECT live.*, coalesce(answers.named, 0) AS named, coalesce(answers.awaited, 0) AS awaited,
        CASE
            WHEN live.work_finished_at IS NULL AND later.took_over IS NOT TRUE
                AND live.answers_due_at <= %(at)s THEN coalesce(answers.awaited, 0)
            ELSE 0
        END AS overdue,
        later.ticket_id IS NOT NULL AS is_followed, coalesce(later.leaves_no_gap, FALSE) AS leaves_no_gap,
        coalesce(later.is_re_marked, FALSE) AS is_re_marked, gone.told_at,
        CASE
            WHEN live.work_finished_at IS NOT NULL THEN 'finished'
            WHEN later.took_over THEN 'replaced'
            WHEN live.expires_at <= %(at)s THEN 'expired'
            WHEN live.legal_start_at IS NULL OR live.expires_at IS NULL THEN 'undated'
            WHEN live.legal_start_at > %(at)s THEN 'not_started'
            ELSE 'in_force'
        END AS state,
        (
            SELECT min(moment)
            FROM (VALUES
                (live.answers_due_at), (live.legal_start_at - live.lead), (live.legal_start_at),
                (live.latest_start_at - live.lead), (live.latest_start_at), (live.renew_by - live.lead),
                (live.expires_at - live.lead), (live.expires_at), (later.takes_over_at), (answers.comes_at)
            ) AS moments (moment)
            WHERE moment > %(at)s
        ) AS next_at
    FROM live
    LEFT JOIN answers ON answers.ticket_id = live.id
    LEFT JOIN later ON later.ticket_id = live.id
    LEFT JOIN gone ON gone.ticket_id = live.id
)"""

ASKS = """
asks AS MATERIALIZED (
    SELECT stands.id AS ticket_id, stands.organisation_id, stands.job_id, asked.matter, asked.due_at
    FROM stands
    CROSS JOIN LATERAL (
        SELECT stands.state IN ('not_started', 'in_force', 'undated') AS is_open,
            stands.state IN ('not_started', 'in_force') AND NOT stands.is_followed
                AND stands.renew_by - stands.lead <= %(at)s AS renews
    ) AS now
    CROSS JOIN LATERAL (VALUES
        ('answer_overdue', stands.answers_due_at, now.is_open AND stands.overdue > 0),
        ('enter_dates', stands.called_at, stands.state = 'undated'),
        ('name_operators', stands.called_at, now.is_open AND stands.named = 0),
        ('starts_soon', CASE stands.state WHEN 'not_started' THEN stands.legal_start_at
                ELSE stands.latest_start_at END,
            (stands.state = 'not_started' AND stands.legal_start_at - stands.lead <= %(at)s)
            OR (stands.state = 'in_force' AND stands.latest_start_at > %(at)s
                AND stands.latest_start_at - stands.lead <= %(at)s)),
        ('call_renewal', stands.renew_by, now.renews),
        ('expires_soon', stands.expires_at,
            stands.state IN ('not_started', 'in_force') AND stands.expires_at - stands.lead <= %(at)s
            AND NOT stands.leaves_no_gap AND now.renews IS NOT TRUE),
        ('expired', stands.expires_at, stands.state = 'expired'),
        ('re_mark_asked', stands.told_at,
            now.is_open AND stands.told_at IS NOT NULL AND NOT stands.is_re_marked)
    ) AS asked (matter, due_at, holds)
    WHERE asked.holds
)"""

# What comes out as it stands is not written again.
WRITTEN = """
standing_written AS (
    INSERT INTO locates_ticketstanding AS known (ticket_id, organisation_id, job_id, called_at, state,
        named_count, awaited_count, overdue_count, changes_at, reckoned_at)
    SELECT id, organisation_id, job_id, called_at, state, named, awaited, overdue,
        CASE WHEN state IN ('finished', 'replaced') THEN NULL ELSE next_at END, %(at)s
    FROM stands
    ON CONFLICT (ticket_id) DO UPDATE SET organisation_id = excluded.organisation_id,
        job_id = excluded.job_id, called_at = excluded.called_at, state = excluded.state,
        named_count = excluded.named_count,
        awaited_count = excluded.awaited_count, overdue_count = excluded.overdue_count,
        changes_at = excluded.changes_at, reckoned_at = excluded.reckoned_at
    WHERE (known.organisation_id, known.job_id, known.called_at, known.state, known.named_count,
            known.awaited_count, known.overdue_count, known.changes_at)
        IS DISTINCT FROM (excluded.organisation_id, excluded.job_id, excluded.called_at, excluded.state,
            excluded.named_count, excluded.awaited_count, excluded.overdue_count, excluded.changes_at)
    RETURNING ticket_id
),
standing_dropped AS (
    DELETE FROM locates_ticketstanding AS known USING chosen
    WHERE known.ticket_id = chosen.id AND NOT EXISTS (SELECT FROM live WHERE live.id = chosen.id)
    RETURNING known.ticket_id
),
matter_written AS (
    INSERT INTO locates_ticketmatter AS known (ticket_id, organisation_id, job_id, matter, due_at)
    SELECT ticket_id, organisation_id, job_id, matter, due_at FROM asks
    ON CONFLICT (ticket_id, matter) DO UPDATE SET organisation_id = excluded.organisation_id,
        job_id = excluded.job_id, due_at = excluded.due_at
    WHERE (known.organisation_id, known.job_id, known.due_at)
        IS DISTINCT FROM (excluded.organisation_id, excluded.job_id, excluded.due_at)
    RETURNING ticket_id
),
matter_dropped AS (
    DELETE FROM locates_ticketmatter AS known USING chosen
    WHERE known.ticket_id = chosen.id AND NOT EXISTS (
        SELECT FROM asks WHERE asks.ticket_id = known.ticket_id AND asks.matter = known.matter
    )
    RETURNING known.ticket_id
)
SELECT (SELECT count(*) FROM chosen), (SELECT count(*) FROM standing_written),
    (SELECT count(*) FROM standing_dropped), (SELECT count(*) FROM matter_written),
    (SELECT count(*) FROM matter_dropped)
"""


@dataclass(frozen=True)
class Reckoned:
    """How many tickets were looked at, and how many rows came out otherwise than they stood."""

    tickets: int = 0
    standings_written: int = 0
    standings_dropped: int = 0
    matters_written: int = 0
    matters_dropped: int = 0

    @property
    def changes(self) -> int:
        """Rows written or dropped."""
        return self.standings_written + self.standings_dropped + self.matters_written + self.matters_dropped

    def __add__(self, other: "Reckoned") -> "Reckoned":
        return Reckoned(
            self.tickets + other.tickets,
            self.standings_written + other.standings_written,
            self.standings_dropped + other.standings_dropped,
            self.matters_written + other.matters_written,
            self.matters_dropped + other.matters_dropped,
        )


def reckoning_sql(chosen: str) -> str:
    """The statement that reckons the tickets that `OF_TICKETS` or `OF_JOBS` chooses."""
    parts = ",".join([f"chosen AS MATERIALIZED ({chosen})", LIVE, BESIDE, STANDS, ASKS, WRITTEN])
    return f"WITH {parts}"


def reckon_jobs(job_ids: Iterable[UUID], at: datetime) -> Reckoned:
    """Reckon all tickets of jobs at a moment, inside the transaction that changed a record of theirs."""
    jobs = {"jobs": list(job_ids)}
    with connection.cursor() as cursor:
        cursor.execute(HOLD_JOBS, jobs)
        cursor.execute(reckoning_sql(OF_JOBS), {**jobs, "at": at, "final": list(FINAL_RESPONSES)})
        return Reckoned(*cursor.fetchone())


def ask_again(organisation_id: UUID, at: datetime) -> int:
    """Have the next sweep reckon every ticket of an organisation anew; gives how many."""
    with connection.cursor() as cursor:
        cursor.execute(ASK_AGAIN, {"organisation": organisation_id, "at": at})
        return cursor.rowcount


def reckon_due(at: datetime, most: int) -> Reckoned:
    """Reckon up to so many tickets that time alone has changed by a moment; to be run in a transaction.

    Tickets that another sweep has in hand, or whose job or ticket somebody is saving, are left to them.
    """
    with connection.cursor() as cursor:
        cursor.execute(TAKE_DUE, {"at": at, "most": most})
        tickets = [ticket_id for (ticket_id,) in cursor.fetchall()]
        if not tickets:
            return Reckoned()
        values = {"tickets": tickets, "at": at, "final": list(FINAL_RESPONSES)}
        cursor.execute(reckoning_sql(OF_TICKETS), values)
        return Reckoned(*cursor.fetchone())
