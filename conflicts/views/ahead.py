"""The page for the rig: where the head is, what comes next, and whether to steer."""

from datetime import datetime
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.look_ahead import look_ahead_of
from conflicts.models import Bore, CloseOut
from conflicts.stop_rules import STOP_RULES
from conflicts.views.access import bore_or_404, may_view
from locates.local_time import format_clock


@may_view
@never_cache
@require_safe
def ahead(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show the three things large, the stops, and every crossing ahead."""
    bore, at = bore_or_404(bore_id), timezone.now()
    sheet = look_ahead_of(bore, at)
    context = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "sheet": sheet,
        "close_out": CloseOut.objects.filter(bore=bore).first(),
        "rules": STOP_RULES,
        "at": at,
        "clock": _clock(bore, at),
    }
    return render(request, "conflicts/ahead.html", context)


@may_view
@never_cache
@require_safe
def ahead_state(request: HttpRequest, bore_id: UUID) -> JsonResponse:
    """Tell the page what it should show now."""
    bore, at = bore_or_404(bore_id), timezone.now()
    sheet = look_ahead_of(bore, at)
    return JsonResponse({"clock": _clock(bore, at), "sheet": sheet.document()})


def _clock(bore: Bore, at: datetime) -> str:
    """The moment in the job's time, to the second."""
    return format_clock(at, bore.job.time_zone)
