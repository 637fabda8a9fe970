"""Notices made set-wise: one statement for all that has come to pass with what anybody follows.

Run twice, or by two at once, it makes nothing twice: the table's keys refuse it. A ticket that somebody is
saving at this moment is left to the next run, so that neither waits for the other.
"""

from datetime import datetime

from django.db import connection

# Of one ticket a person wants to hear all that holds now. Of a whole job only what falls due, or is changed,
# after the following began: nobody is told of years of expired tickets at once.
FOLLOWED = """
followed AS (
    SELECT person_id, ticket_id, '-infinity'::timestamptz AS since
    FROM locates_follow WHERE ticket_id IS NOT NULL
    UNION ALL
    SELECT follow.person_id, standing.ticket_id, follow.since
    FROM locates_follow AS follow
    JOIN locates_ticketstanding AS standing ON standing.job_id = follow.job_id
    WHERE standing.state NOT IN ('finished', 'replaced')
)"""

# A ticket without a named operator has no answer either. Where no deadline for the answers is known, what is
# told of is the legal start, and of no deadline. Where a renewal is to be called the matter of the expiry
# stands aside on the board; whoever follows the ticket is told of both.
HAPPENED = """
happened AS (
    SELECT DISTINCT followed.person_id, ticket.job_id, ticket.id AS ticket_id, fell.event, fell.due_at
    FROM followed
    JOIN auth_user AS person ON person.id = followed.person_id AND person.is_active
    JOIN locates_ticket AS ticket ON ticket.id = followed.ticket_id AND ticket.retired_at IS NULL
    JOIN locates_job AS job ON job.id = ticket.job_id AND job.retired_at IS NULL
    JOIN locates_organisation AS organisation ON organisation.id = job.organisation_id
    JOIN locates_membership AS member
        ON member.user_id = followed.person_id AND member.organisation_id = job.organisation_id
    JOIN locates_ticketstanding AS standing ON standing.ticket_id = ticket.id
    CROSS JOIN LATERAL (
        SELECT
            max(due_at) FILTER (WHERE matter = 'answer_overdue') AS overdue_since,
            max(due_at) FILTER (WHERE matter = 'call_renewal') AS renew_by,
            coalesce(bool_or(matter = 'name_operators'), FALSE) AS names_nobody,
            coalesce(bool_or(matter = 'expires_soon'), FALSE) AS expires_soon,
            coalesce(bool_or(matter = 'expired'), FALSE) AS is_expired
        FROM locates_ticketmatter AS matter WHERE matter.ticket_id = ticket.id
    ) AS asks
    CROSS JOIN LATERAL (VALUES
        ('answer_overdue', asks.overdue_since, ticket.response_due_at IS NOT NULL),
        ('starts_unanswered', ticket.legal_start_at,
            (standing.state = 'in_force' AND (standing.awaited_count > 0 OR asks.names_nobody))
            OR (ticket.response_due_at IS NULL AND asks.overdue_since IS NOT NULL)),
        ('renewal_due', asks.renew_by,
            (asks.renew_by AT TIME ZONE job.time_zone)::date <= (%(at)s AT TIME ZONE job.time_zone)::date),
        ('expires_soon', ticket.expires_at,
            asks.expires_soon OR (
                asks.renew_by IS NOT NULL
                AND ticket.expires_at - make_interval(hours => organisation.desk_lead_hours) <= %(at)s
            )),
        ('expired', ticket.expires_at, asks.is_expired)
    ) AS fell (event, due_at, holds)
    WHERE fell.holds AND fell.due_at IS NOT NULL
      AND (fell.due_at > followed.since OR ticket.edited_at > followed.since)
)"""

TELL_OF_TICKETS = """
INSERT INTO locates_notice
    (id, person_id, job_id, ticket_id, mark_id, event, due_at, made_at, subject, words, read_at)
SELECT gen_random_uuid(), happened.person_id, happened.job_id, happened.ticket_id, NULL, happened.event,
    happened.due_at, %(at)s, '', '', NULL
FROM happened
JOIN locates_ticket AS ticket ON ticket.id = happened.ticket_id
JOIN locates_job AS job ON job.id = happened.job_id
WHERE NOT EXISTS (
    SELECT FROM locates_notice AS told
    WHERE told.person_id = happened.person_id AND told.ticket_id = happened.ticket_id AND told.mark_id IS NULL
      AND told.event = happened.event AND told.due_at = happened.due_at
)
FOR KEY SHARE OF ticket, job SKIP LOCKED
ON CONFLICT DO NOTHING
"""
OF_TICKETS = f"WITH {FOLLOWED}, {HAPPENED} {TELL_OF_TICKETS}"

# The moment of a gone mark is that of its paint: painted again and gone again it is told again.
OF_MARKS = """
WITH happened AS (
    SELECT DISTINCT follow.person_id, mark.job_id, mark.ticket_id, mark.id AS mark_id,
        greatest(mark.marked_at, mark.re_marked_at) AS due_at
    FROM locates_follow AS follow
    JOIN auth_user AS person ON person.id = follow.person_id AND person.is_active
    JOIN locates_mark AS mark ON mark.ticket_id = follow.ticket_id
        OR (mark.job_id = follow.job_id AND mark.edited_at > follow.since)
    JOIN locates_job AS job ON job.id = mark.job_id AND job.retired_at IS NULL
    JOIN locates_membership AS member
        ON member.user_id = follow.person_id AND member.organisation_id = job.organisation_id
    WHERE mark.is_intact IS FALSE AND mark.retired_at IS NULL
)
INSERT INTO locates_notice
    (id, person_id, job_id, ticket_id, mark_id, event, due_at, made_at, subject, words, read_at)
SELECT gen_random_uuid(), happened.person_id, happened.job_id, happened.ticket_id, happened.mark_id,
    'mark_gone', happened.due_at, %(at)s, '', '', NULL
FROM happened
JOIN locates_mark AS mark ON mark.id = happened.mark_id
JOIN locates_job AS job ON job.id = happened.job_id
WHERE NOT EXISTS (
    SELECT FROM locates_notice AS told
    WHERE told.person_id = happened.person_id AND told.mark_id = happened.mark_id
      AND told.event = 'mark_gone' AND told.due_at = happened.due_at
)
FOR KEY SHARE OF mark, job SKIP LOCKED
ON CONFLICT DO NOTHING
"""


def make_notices_at(at: datetime) -> int:
    """Make a row, still without words, for all that nobody was told of yet; gives how many."""
    with connection.cursor() as cursor:
        cursor.execute(OF_TICKETS, {"at": at})
        count = cursor.rowcount
        cursor.execute(OF_MARKS, {"at": at})
        return count + cursor.rowcount
