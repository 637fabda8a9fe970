"""Who gave too many wrong passwords in a row is told when to try again."""

from datetime import datetime
from math import ceil

from axes.helpers import get_client_parameters
from axes.models import AccessAttempt
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

LOGIN_PAGE = "login"


def lockout_ends_at(request: HttpRequest) -> datetime:
    """When the name and the address of a request that was locked out may try again."""
    credentials = request.axes_credentials or {}
    (counted_by,) = get_client_parameters(
        credentials.get("username", ""),
        request.axes_ip_address,
        request.axes_user_agent,
        request,
        credentials,
    )
    attempts = AccessAttempt.objects.filter(**counted_by).order_by("-attempt_time")
    last_at = attempts.values_list("attempt_time", flat=True).first() or timezone.now()
    return last_at + settings.AXES_COOLOFF_TIME


def minutes_until(moment: datetime) -> int:
    """Whole minutes until a moment, at least one; never too few."""
    return max(1, ceil((moment - timezone.now()).total_seconds() / 60))


def answer_lockout(
    request: HttpRequest, original: HttpResponse | None, credentials: dict[str, str] | None
) -> HttpResponse:
    """The page that says when to try again; a form that signs says so itself, and keeps what was typed."""
    match = request.resolver_match
    if original is not None and (match is None or match.view_name != LOGIN_PAGE):
        return original
    ends_at = lockout_ends_at(request)
    context = {
        "ends_at": ends_at,
        "minutes": minutes_until(ends_at),
        "most": settings.AXES_FAILURE_LIMIT,
        "username": (credentials or {}).get("username", ""),
    }
    answer = render(request, "registration/locked_out.html", context, status=429)
    answer["Retry-After"] = str(max(1, ceil((ends_at - timezone.now()).total_seconds())))
    answer["Cache-Control"] = "no-store"
    return answer
