"""The list of jobs, and one job with its records."""

from uuid import UUID

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.bore_states import bore_states
from conflicts.crossings_as_drilled import drilled_alone_of
from conflicts.inputs import DEFAULT_ALONGSIDE_M, DEFAULT_CROSSING_M
from conflicts.models import Bore
from conflicts.route_sheet import read_route
from conflicts.views.access import may_view
from locates.desk.job_sheet import read_job_sheet
from locates.models import Job

JOBS_A_PAGE = 10


@may_view
@never_cache
@require_safe
def jobs(request: HttpRequest) -> HttpResponse:
    """List the jobs, those changed last first, each with its bores and what holds them."""
    at = timezone.now()
    mine = Job.objects.seen_by(request.user.pk).with_grounds()
    bores = Prefetch("bores", queryset=Bore.objects.with_close_out())
    latest = mine.prefetch_related(bores).order_by("-changed_at", "name")
    page = Paginator(latest, JOBS_A_PAGE).get_page(request.GET.get("page"))
    states = {
        state.bore.pk: state for state in bore_states((bore for job in page for bore in job.bores.all()), at)
    }
    entries = [(job, [states[bore.pk] for bore in job.bores.all()]) for job in page]
    return render(
        request, "conflicts/jobs.html", {"section": "jobs", "page": page, "entries": entries, "at": at}
    )


@may_view
@never_cache
@require_safe
def job(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Show one job: its bores, tickets, marks, test holes, surface features, operators and allowances."""
    found = get_object_or_404(Job.objects.with_grounds(), id=job_id)
    at = timezone.now()
    sheet = read_job_sheet(found)
    states = bore_states(found.bores.with_close_out().order_by("name"), at)
    context = {
        "section": "jobs",
        "job": found,
        "sheet": sheet,
        "operators": sheet.operators,
        "damage_reports": found.damage_reports.all(),
        "route": read_route(found, states),
        "drilled_told": drilled_alone_of(states),
        "default_crossing_m": DEFAULT_CROSSING_M,
        "default_alongside_m": DEFAULT_ALONGSIDE_M,
        "at": at,
    }
    return render(request, "conflicts/job.html", context)
