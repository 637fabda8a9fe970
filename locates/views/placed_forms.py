"""The forms of what was painted, found and seen on the ground."""

from collections.abc import Callable
from dataclasses import dataclass
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache

from locates.desk.next_reference import next_reference
from locates.forms.form_page import FormPage, form_page, section_of
from locates.forms.ground_point import GroundPointForm
from locates.forms.linework import LineworkForm
from locates.forms.mark import MarkForm
from locates.forms.permission import ask_to_write
from locates.forms.placed_form import PlacedForm
from locates.forms.surface_feature import SurfaceFeatureForm
from locates.forms.test_hole import TestHoleForm
from locates.models import GroundPoint, Job, Linework, Mark, SurfaceFeature, TestHole
from locates.models.retirable import Retirable
from locates.views.job_forms import get_or_post

FIRST_HOLE = "TH-1"


@dataclass(frozen=True)
class Placed:
    """A kind of record with a place: its form, its words, and where its page leads."""

    model: type[Retirable]
    form: type[PlacedForm]
    title: str
    section: str  # of the job's page; "" where the page of the map's base lists them
    begin: Callable[[HttpRequest, Retirable], None] = lambda _request, _record: None


def begin_test_hole(request: HttpRequest, hole: Retirable) -> None:
    """A hole is most often logged when it has been measured, by whoever did."""
    hole.ref = next_reference(hole.job.test_holes.values_list("ref", flat=True), FIRST_HOLE)
    hole.measured_at = timezone.now()
    hole.measured_by = request.user.get_full_name() or request.user.get_username()
    hole.mark = hole.job.marks.filter(ref=request.GET.get("mark", "")).first()


def begin_surface_feature(_: HttpRequest, feature: Retirable) -> None:
    """A feature is most often logged when it is seen."""
    feature.seen_at = timezone.now()


PLACED = {
    "mark": Placed(Mark, MarkForm, "New mark", "marks"),
    "test-hole": Placed(TestHole, TestHoleForm, "New test hole", "test-holes", begin_test_hole),
    "surface-feature": Placed(
        SurfaceFeature, SurfaceFeatureForm, "New surface feature", "surface-features", begin_surface_feature
    ),
    "ground-point": Placed(GroundPoint, GroundPointForm, "New ground point", ""),
    "linework": Placed(Linework, LineworkForm, "New linework", ""),
}


@never_cache
@get_or_post
def add_placed(request: HttpRequest, job_id: UUID, kind: str) -> HttpResponse:
    """Log a record with a place."""
    placed = PLACED[kind]
    ask_to_write(request, placed.model, "add")
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    record = placed.model(job=job)
    if request.method != "POST":
        placed.begin(request, record)
    return form_page(request, placed.form, record, job, _page(placed, placed.title, job))


@never_cache
@get_or_post
def edit_placed(request: HttpRequest, record_id: UUID, kind: str) -> HttpResponse:
    """Change a record with a place."""
    placed = PLACED[kind]
    ask_to_write(request, placed.model)
    records = placed.model.with_retired.select_related("job__organisation", "job__jurisdiction")
    record = get_object_or_404(records, pk=record_id)
    return form_page(request, placed.form, record, record.job, _page(placed, f"Edit {record}", record.job))


def _page(placed: Placed, title: str, job: Job) -> FormPage:
    base = reverse("locates:map-base", args=[job.pk])
    leave_to = section_of(job.pk, placed.section) if placed.section else base
    return FormPage(title, leave_to, template="locates/placed_form.html")
