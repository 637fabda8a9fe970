"""What to do first when a line is hit."""

from uuid import UUID

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import get_object_or_404, render
from django.views.decorators.cache import never_cache

from conflicts.strike.opened_jobs import has_opened
from conflicts.strike.sheet import strike_sheet
from locates.models import Job


@login_not_required
@never_cache
def strike(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Show what to do first and whom to call, without a login to a phone that has opened the job.

    Nothing else of the job is shown to it. Who is logged in has passed the gate of the company before.
    """
    if not has_opened(request, job_id):
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        if not request.user.has_perm("locates.view_job"):
            raise PermissionDenied
    if request.method not in ("GET", "HEAD"):
        return HttpResponseNotAllowed(["GET", "HEAD"])
    # A retired job too: its lines are still in the ground.
    job = get_object_or_404(Job.with_retired, pk=job_id)
    return render(
        request, "conflicts/strike.html", {"section": "jobs", "job": job, "sheet": strike_sheet(job)}
    )
