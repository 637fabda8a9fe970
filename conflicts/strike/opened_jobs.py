"""Which jobs a phone has opened, kept on it and signed, so that it needs no login when a line is hit."""

import time
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

COOKIE = "opened_jobs"
SALT = "conflicts.strike.opened_jobs"
MOST_JOBS = 20
LONGEST_S = 30 * 24 * 3600


def remember_job(request: HttpRequest, response: HttpResponse, job_id: UUID) -> HttpResponse:
    """Have the phone of a logged-in person keep that it opened a job, for 30 days from now."""
    now_s = int(time.time())
    others = [one for one in _kept(request, now_s) if one[0] != str(job_id)]
    kept = [(str(job_id), now_s), *others][:MOST_JOBS]
    response.set_cookie(
        COOKIE,
        signing.dumps(kept, salt=SALT, compress=True),
        max_age=LONGEST_S,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return response


def has_opened(request: HttpRequest, job_id: UUID) -> bool:
    """Whether the phone that asks opened a job in the last 30 days, by what we signed ourselves."""
    return any(kept_id == str(job_id) for kept_id, _ in _kept(request, int(time.time())))


def _kept(request: HttpRequest, now_s: int) -> list[tuple[str, int]]:
    """Ids of jobs and when each was opened, the last first; none where the signature is not ours."""
    try:
        kept = signing.loads(request.COOKIES.get(COOKIE, ""), salt=SALT, max_age=LONGEST_S)
    except signing.BadSignature:
        return []
    return [(job_id, opened_s) for job_id, opened_s in kept if now_s - opened_s <= LONGEST_S]
