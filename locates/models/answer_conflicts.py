"""Tickets whose answers and known lines cannot all be true, found for many tickets in two queries."""

from collections.abc import Collection
from uuid import UUID

from django.db import connection

from locates.contradictions import Contradiction, ContradictionKind, EarlierLine
from locates.models.response import Response, ResponseKind

# A name is the same whatever its capitals and blanks: an operator is a record of each job anew. A line
# is a mark, or a test hole that found one: it runs through the hole, wherever the mark lies. A test hole
# of no mark, and linework, name no operator.
_NOT_NOTIFIED = r"""
WITH area AS MATERIALIZED (
    SELECT ticket.id, ticket.job_id, ticket.area, job.organisation_id
      FROM locates_ticket AS ticket
      JOIN locates_job AS job ON job.id = ticket.job_id
     WHERE ticket.id = ANY(%s) AND ticket.retired_at IS NULL
), seen AS (
    SELECT area.id AS ticket_id, mark.job_id, mark.operator_id, mark.ref, mark.marked_at AS seen_at
      FROM area
      JOIN locates_mark AS mark ON ST_Intersects(mark.geometry, area.area)
     WHERE mark.job_id <> area.job_id AND mark.retired_at IS NULL
     UNION ALL
    SELECT area.id, hole.job_id, mark.operator_id, mark.ref, hole.measured_at
      FROM area
      JOIN locates_testhole AS hole ON ST_Intersects(hole.position, area.area)
      JOIN locates_mark AS mark ON mark.id = hole.mark_id
     WHERE hole.job_id <> area.job_id AND hole.found
       AND hole.retired_at IS NULL AND mark.retired_at IS NULL
), known AS (
    SELECT seen.ticket_id, lower(regexp_replace(operator.name, '\s', '', 'g')) AS plain_name, operator.name,
           job.id AS job_id, job.name AS job_name, seen.ref, seen.seen_at
      FROM seen
      JOIN area ON area.id = seen.ticket_id
      JOIN locates_job AS job ON job.id = seen.job_id
       AND job.organisation_id = area.organisation_id AND job.retired_at IS NULL
      JOIN locates_facilityoperator AS operator ON operator.id = seen.operator_id
)
SELECT DISTINCT ON (known.ticket_id, known.plain_name)
       known.ticket_id, known.name, known.job_id, known.job_name, known.ref,
       (SELECT count(DISTINCT other.job_id) - 1 FROM known AS other
         WHERE other.ticket_id = known.ticket_id AND other.plain_name = known.plain_name)
  FROM known
 WHERE NOT EXISTS (
    SELECT FROM locates_response AS response
      JOIN locates_facilityoperator AS operator ON operator.id = response.operator_id
     WHERE response.ticket_id = known.ticket_id AND response.retired_at IS NULL
       AND lower(regexp_replace(operator.name, '\s', '', 'g')) = known.plain_name
 )
 ORDER BY known.ticket_id, known.plain_name, known.seen_at DESC, known.ref
"""


def contradictions_of(ticket_ids: Collection[UUID]) -> list[Contradiction]:
    """Every contradiction on the live ones of some tickets, ordered by operator within each kind.

    Two queries, however many tickets they are.
    """
    ids = list(ticket_ids)
    if not ids:
        return []
    return [*_against_marks(ids), *_not_notified(ids)]


def _against_marks(ticket_ids: list[UUID]) -> list[Contradiction]:
    answers = Response.objects.filter(ticket__in=ticket_ids, ticket__retired_at=None).that_marks_contradict()
    rows = answers.order_by("operator__name", "ticket").values_list("ticket", "response", "operator__name")
    kinds = {
        ResponseKind.NO_FACILITIES: ContradictionKind.DENIED,
        ResponseKind.MARKED: ContradictionKind.BARE,
    }
    return [Contradiction(ticket, kinds[response], operator) for ticket, response, operator in rows]


def _not_notified(ticket_ids: list[UUID]) -> list[Contradiction]:
    with connection.cursor() as cursor:
        cursor.execute(_NOT_NOTIFIED, [ticket_ids])
        rows = cursor.fetchall()
    return [
        Contradiction(ticket, ContradictionKind.NOT_NOTIFIED, operator, EarlierLine(job, name, ref, more))
        for ticket, operator, job, name, ref, more in rows
    ]
