"""Make the daily digests: one a person and day, when the person's hour has come where the person is."""

from collections import defaultdict
from datetime import date, datetime
from typing import NamedTuple

from django.conf import settings
from django.contrib.auth import get_user_model
from django.db import connection, transaction
from django.db.models import Q
from django.utils import timezone

from locates.desk.write_mail import digest_of, may_get_mail
from locates.models import Follow, Membership, Notice, OutgoingMail, TicketMatter, organisation_of

MOST_AT_ONCE = 50
MOST_LINES = 200
"""Of a digest; how many more there are is said in its last line."""

# The day is marked in the transaction that queues the mail. It is compared by the clock on the wall there, so
# an hour that is left out in spring has come with the next, and one that comes twice in autumn finds it done.
TAKE_DUE = """
WITH due AS (
    SELECT setting.person_id, setting.digest_at AS since, clock.wall::date AS today
    FROM locates_noticesetting AS setting
    JOIN auth_user AS person ON person.id = setting.person_id AND person.is_active AND person.email <> ''
    JOIN locates_membership AS member ON member.user_id = person.id
    CROSS JOIN LATERAL (
        SELECT job.time_zone
        FROM locates_follow AS follow
        LEFT JOIN locates_ticket AS ticket ON ticket.id = follow.ticket_id
        JOIN locates_job AS job ON job.id = coalesce(follow.job_id, ticket.job_id)
            AND job.organisation_id = member.organisation_id
        WHERE follow.person_id = setting.person_id
        ORDER BY follow.since, follow.id LIMIT 1
    ) AS followed
    CROSS JOIN LATERAL (
        SELECT %(at)s AT TIME ZONE coalesce(nullif(setting.time_zone, ''), followed.time_zone) AS wall
    ) AS clock
    WHERE setting.digest_by_mail
      AND (setting.digest_on IS NULL OR setting.digest_on < clock.wall::date)
      AND extract(hour FROM clock.wall) >= setting.digest_hour
    ORDER BY setting.person_id
    LIMIT %(most)s
    FOR UPDATE OF setting SKIP LOCKED
)
UPDATE locates_noticesetting AS setting SET digest_on = due.today, digest_at = %(at)s
FROM due WHERE setting.person_id = due.person_id
RETURNING setting.person_id, due.since, due.today
"""


class _Due(NamedTuple):
    person_id: int
    since: datetime | None
    today: date


def make_digests() -> int:
    """Queue the digests that are due, and give how many; nothing where no mail is sent."""
    if settings.MAIL_SERVER is None:
        return 0
    made = 0
    while taken := _make_some(timezone.now()):
        made += taken
    return made


def _make_some(at: datetime) -> int:
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute(TAKE_DUE, {"at": at, "most": MOST_AT_ONCE})
            due = [_Due(*row) for row in cursor.fetchall()]
        people = get_user_model().objects.in_bulk([one.person_id for one in due])
        wanted = [one for one in due if may_get_mail(people[one.person_id])]
        matters, told = _matters([one.person_id for one in wanted]), _told(wanted)
        mails = []
        for one in wanted:
            asks = matters[one.person_id]
            shown, left_out = asks[:MOST_LINES], max(0, len(asks) - MOST_LINES)
            person, notices = people[one.person_id], told[one.person_id][:MOST_LINES]
            mails.append(digest_of(person, one.today, shown, notices, left_out, at))
        OutgoingMail.objects.bulk_create(mails, ignore_conflicts=True)
    return len(due)


def _matters(person_ids: list[int]) -> dict[int, list[TicketMatter]]:
    """What the tickets that each person follows ask for, in the order in which it falls due."""
    jobs, tickets = defaultdict(set), defaultdict(set)
    company = dict(
        Membership.objects.filter(user_id__in=person_ids).values_list("user_id", "organisation_id")
    )
    for person_id, job_id, ticket_id in Follow.objects.filter(person_id__in=person_ids).values_list(
        "person_id", "job_id", "ticket_id"
    ):
        (jobs[job_id] if job_id else tickets[ticket_id]).add(person_id)
    found: dict[int, list[TicketMatter]] = defaultdict(list)
    followed = Q(job_id__in=list(jobs)) | Q(ticket_id__in=list(tickets))
    for matter in (
        TicketMatter.objects.filter(followed).select_related("ticket", "job").order_by("due_at", "pk")
    ):
        for person_id in jobs.get(matter.job_id, set()) | tickets.get(matter.ticket_id, set()):
            if company.get(person_id) == matter.organisation_id:
                found[person_id].append(matter)
    return found


def _told(due: list[_Due]) -> dict[int, list[Notice]]:
    """What each person was told since the digest before."""
    found: dict[int, list[Notice]] = defaultdict(list)
    which = Q(pk__in=[])
    for one in due:
        ours = organisation_of(one.person_id)
        which |= Q(
            person_id=one.person_id,
            job__organisation_id=ours,
            **({"made_at__gt": one.since} if one.since else {}),
        )
    for notice in (
        Notice.objects.filter(which).exclude(words="").select_related("job").order_by("-made_at", "pk")
    ):
        found[notice.person_id].append(notice)
    return found
