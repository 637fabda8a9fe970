"""Records of a job as files."""

from uuid import UUID

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_export import FORMATS, export_records
from locates.exchange.vector_kinds import KINDS
from locates.forms.vector_export import ExportForm
from locates.models import Job

may_view = permission_required("locates.view_job", raise_exception=True)


@may_view
@never_cache
@require_safe
def export(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Ask for kind, format and coordinate system, and send the file once they are chosen."""
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    form = ExportForm(request.GET if "kind" in request.GET else None)
    if form.is_bound and form.is_valid():
        kind, chosen = KINDS[form.cleaned_data["kind"]], form.cleaned_data["format"]
        try:
            name, content = export_records(job, kind, chosen, form.cleaned_data["epsg"])
        except VectorFileError as error:
            form.add_error(None, f"{str(error)[:1].upper()}{str(error)[1:]}.")
        else:
            response = HttpResponse(content, content_type=FORMATS[chosen].media_type)
            response["Content-Disposition"] = f'attachment; filename="{name}"'
            response["X-Content-Type-Options"] = "nosniff"
            return response
    return render(request, "locates/export.html", {"section": "jobs", "job": job, "form": form})
