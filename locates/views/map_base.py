"""What the map and the profile are read by: surveyed ground and linework, page by page."""

from uuid import UUID

from django.contrib.auth.decorators import permission_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from locates.models import Job

MOST_A_PAGE = 50

may_view = permission_required(
    ("locates.view_job", "locates.view_groundpoint", "locates.view_linework"), raise_exception=True
)


@may_view
@never_cache
@require_safe
def map_base(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """List ground points by height and linework by kind, each with its forms."""
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    ground = Paginator(job.ground_points.order_by("elevation_m", "pk"), MOST_A_PAGE)
    linework = Paginator(job.linework.order_by("feature_type", "label", "pk"), MOST_A_PAGE)
    context = {
        "section": "jobs",
        "job": job,
        "ground_points": ground.get_page(request.GET.get("ground")),
        "linework": linework.get_page(request.GET.get("linework")),
    }
    return render(request, "locates/map_base.html", context)
