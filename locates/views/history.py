"""What was changed of a job's records: who, when, from where, before and after."""

from uuid import UUID

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from locates.desk.history_sheet import read_history
from locates.errors import PlaceInListError
from locates.forms.history import HistoryForm
from locates.models import Job, Photo
from locates.models.photo import PLACE

may_read_history = permission_required(("locates.view_job", "locates.view_recordevent"), raise_exception=True)


@may_read_history
@never_cache
@require_safe
def job_history(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """List the changes of a job, or of one record of it, the newest first."""
    job = get_object_or_404(Job.with_retired, pk=job_id)
    form = HistoryForm(request.GET)
    is_read = form.is_valid()
    after, error = request.GET.get("after", ""), ""
    table = Photo._meta.db_table
    hidden = [] if request.user.has_perm("locates.open_original_photo") else [(table, one) for one in PLACE]
    try:
        page = read_history(job, form.filters(), after, hidden)
    except PlaceInListError as refused:
        error, after = str(refused), ""
        page = read_history(job, form.filters(), after, hidden)
    context = {
        "section": "jobs",
        "job": job,
        "form": form,
        "query": form.query(),
        "record": form.filters().record_id,
        "page": page,
        "is_first": not after,
        "error": error,
    }
    return render(request, "locates/history.html", context, status=200 if is_read and not error else 400)
