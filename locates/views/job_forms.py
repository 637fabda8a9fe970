"""The forms of a job and of what it is set up with: operators and required clearances."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from locates.desk.save_job import save_job
from locates.forms.form_page import FormPage, form_page, section_of
from locates.forms.job import JobForm
from locates.forms.new_job import NewJobForm
from locates.forms.operator import OperatorForm, RequirementForm
from locates.forms.permission import ask_for_company, ask_to_write
from locates.forms.record_form import RecordForm
from locates.models import ClearanceRequirement, FacilityOperator, Job
from locates.models.retirable import Retirable

get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@never_cache
@get_or_post
def add_job(request: HttpRequest) -> HttpResponse:
    """Begin a job from nothing."""
    ask_to_write(request, Job, "add")
    job = Job(organisation=ask_for_company(request))
    page = FormPage(
        "New job",
        lambda saved: section_of(saved.pk, "main"),
        save=save_job,
        template="locates/new_job.html",
        submit="Create the job",
        back_to=reverse("conflicts:jobs"),
    )
    return form_page(request, NewJobForm, job, job, page)


@never_cache
@get_or_post
def edit_job(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Change a job's settings."""
    ask_to_write(request, Job)
    job = get_object_or_404(Job.with_retired.with_grounds(), pk=job_id)
    page = FormPage(f"Edit {job}", section_of(job.pk, "main"), save=save_job)
    return form_page(request, JobForm, job, job, page)


@never_cache
@get_or_post
def add_operator(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Log a facility operator."""
    return _add(request, job_id, FacilityOperator, OperatorForm, "New operator", "operators")


@never_cache
@get_or_post
def edit_operator(request: HttpRequest, record_id: UUID) -> HttpResponse:
    """Change a facility operator."""
    return _edit(request, record_id, FacilityOperator, OperatorForm, "operators")


@never_cache
@get_or_post
def add_requirement(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Demand a clearance."""
    return _add(
        request, job_id, ClearanceRequirement, RequirementForm, "New required clearance", "allowances"
    )


@never_cache
@get_or_post
def edit_requirement(request: HttpRequest, record_id: UUID) -> HttpResponse:
    """Change a required clearance."""
    return _edit(request, record_id, ClearanceRequirement, RequirementForm, "allowances")


def _add(
    request: HttpRequest,
    job_id: UUID,
    model: type[Retirable],
    form_class: type[RecordForm],
    title: str,
    section: str,
) -> HttpResponse:
    ask_to_write(request, model, "add")
    job = get_object_or_404(Job, pk=job_id)
    return form_page(request, form_class, model(job=job), job, FormPage(title, section_of(job.pk, section)))


def _edit(
    request: HttpRequest, record_id: UUID, model: type[Retirable], form_class: type[RecordForm], section: str
) -> HttpResponse:
    ask_to_write(request, model)
    record = get_object_or_404(model.with_retired.select_related("job"), pk=record_id)
    page = FormPage(f"Edit {record}", section_of(record.job_id, section))
    return form_page(request, form_class, record, record.job, page)
