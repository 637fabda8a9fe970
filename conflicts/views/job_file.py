"""A whole job as a job file."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.exchange.whole_job import export_job
from conflicts.views.access import may_view
from locates.exchange.job_documents import document_text
from locates.models import Job


@may_view
@never_cache
@require_safe
def job_file(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Send the job as load_job reads it, to the last digit."""
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    response = HttpResponse(document_text(export_job(job)), content_type="application/geo+json")
    response["Content-Disposition"] = f'attachment; filename="job-{job.pk}.geojson"'
    return response
