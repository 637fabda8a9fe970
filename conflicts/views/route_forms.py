"""The forms of the joints of a job's route."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from conflicts.forms.route_joint import RouteJointForm
from conflicts.models import Bore, RouteJoint
from locates.forms.form_page import FormPage, form_page, section_of
from locates.forms.permission import ask_to_write
from locates.forms.retire_page import retire_page
from locates.models import Job

get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@never_cache
@get_or_post
def add_joint(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """State of two ends whether they are joined; the address may name them by bore and end."""
    ask_to_write(request, RouteJoint, "add")
    job = get_object_or_404(Job, pk=job_id)
    joint = RouteJoint(job=job)
    for which in ("first", "second"):
        bore_name, _, end = request.GET.get(which, "").rpartition(":")
        bore = Bore.objects.filter(job=job, name=bore_name).first()
        if bore is not None:
            setattr(joint, f"{which}_bore", bore)
            setattr(joint, f"{which}_end", end)
    return form_page(request, RouteJointForm, joint, job, _page("How two bores go on", job))


@never_cache
@get_or_post
def edit_joint(request: HttpRequest, joint_id: UUID) -> HttpResponse:
    """Change what is stated of two ends."""
    ask_to_write(request, RouteJoint)
    joint = get_object_or_404(
        RouteJoint.with_retired.select_related("job", "first_bore", "second_bore"), pk=joint_id
    )
    return form_page(request, RouteJointForm, joint, joint.job, _page(f"Edit {joint}", joint.job))


@never_cache
@get_or_post
def retire_joint(request: HttpRequest, joint_id: UUID) -> HttpResponse:
    """Ask, and retire what is stated of two ends."""
    ask_to_write(request, RouteJoint)
    joint = get_object_or_404(
        RouteJoint.objects.select_related("job", "first_bore", "second_bore"), pk=joint_id
    )
    return retire_page(request, joint, joint.job, leave_to=section_of(joint.job_id, "bores"))


def _page(title: str, job: Job) -> FormPage:
    return FormPage(title, section_of(job.pk, "bores"))
