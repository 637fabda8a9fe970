"""The conduit route of a job on a page of its own, and as a file."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.bore_states import bore_states
from conflicts.exchange.route_export import ROUTE_FORMATS, export_route
from conflicts.route_sheet import RouteSheet, read_route
from conflicts.views.access import may_view
from locates.exchange.vector_errors import VectorFileError
from locates.models import Job


@may_view
@never_cache
@require_safe
def route(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Show the route: the overview, each bore with its chainage, what joins and parts them, the totals."""
    return _page(request, get_object_or_404(Job.objects.with_grounds(), pk=job_id))


@may_view
@never_cache
@require_safe
def route_file(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Send the route in the format that the address asks for; GeoJSON where it names none."""
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    format_name = request.GET.get("format", "geojson")
    try:
        name, content = export_route(_read(job), format_name)
    except VectorFileError as error:
        return _page(request, job, error=f"{str(error)[:1].upper()}{str(error)[1:]}.", status=400)
    response = HttpResponse(content, content_type=ROUTE_FORMATS[format_name].media_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _read(job: Job) -> RouteSheet:
    bores = job.bores.with_close_out().order_by("name")
    return read_route(job, bore_states(bores, timezone.now()))


def _page(request: HttpRequest, job: Job, *, error: str = "", status: int = 200) -> HttpResponse:
    context = {
        "section": "jobs",
        "job": job,
        "route": _read(job),
        "formats": ROUTE_FORMATS,
        "error": error,
        "at": timezone.now(),
    }
    return render(request, "conflicts/route_page.html", context, status=status)
