"""Retiring a record, and bringing back what was retired."""

from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from locates.desk.restore import restore
from locates.errors import RecordError
from locates.forms.form_page import RECALCULATED, section_of
from locates.forms.permission import ask_to_write
from locates.forms.retire_page import retire_page
from locates.models import Job, Retirement, organisation_of
from locates.models.retirable import Retirable
from locates.views.job_forms import get_or_post


@never_cache
@get_or_post
def retire_record(
    request: HttpRequest, record_id: UUID, model: type[Retirable], section: str
) -> HttpResponse:
    """Ask, say what depends on the record, and retire it."""
    ask_to_write(request, model)
    record = get_object_or_404(model, pk=record_id)
    job = Job.objects.with_grounds().get(pk=record.home_job_id)
    leave_to = reverse("conflicts:jobs") if model is Job else section_of(job.pk, section)
    return retire_page(request, record, job, leave_to=leave_to)


@require_POST
def restore_records(request: HttpRequest, retirement_id: UUID) -> HttpResponse:
    """Bring back what was retired at once."""
    retirement = get_object_or_404(Retirement.objects.select_related("job"), pk=retirement_id)
    if not request.user.has_perm(retirement.change_permission):
        raise PermissionDenied
    try:
        restore(retirement, by=request.user)
    except RecordError as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, f"Back again: {retirement.name}. {RECALCULATED}")
    if Job.objects.filter(pk=retirement.job_id).exists():
        return redirect(section_of(retirement.job_id, "main"))
    return redirect("locates:retired-jobs")


@never_cache
@require_safe
def retired_jobs(request: HttpRequest) -> HttpResponse:
    """List the jobs that were retired, each with a way back."""
    ask_to_write(request, Job)
    ours = Retirement.objects.not_undone().filter(job__organisation_id=organisation_of(request.user.pk))
    # What a job file replaced stands under the job too, which went on.
    of_jobs = ours.filter(job__retirement=F("pk"))
    retirements = of_jobs.select_related("retired_by", "job")
    return render(request, "locates/retired_jobs.html", {"section": "jobs", "retirements": retirements})
