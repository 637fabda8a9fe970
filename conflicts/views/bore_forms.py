"""The forms of bores and of their pits."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from conflicts.desk.stays_on_record import stays_on_record
from conflicts.forms.pit import PitForm
from conflicts.forms.planned_bore import PlannedBoreForm
from conflicts.models import Bore, Pit
from locates.forms.form_page import FormPage, form_page, section_of, show_form
from locates.forms.permission import ask_to_write
from locates.forms.retire_page import retire_page
from locates.models import Job

MORE_LINES = "more_lines"

get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@never_cache
@get_or_post
def add_bore(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Plan a bore."""
    ask_to_write(request, Bore, "add")
    job = get_object_or_404(Job, pk=job_id)
    page = _bore_page("New bore", section_of(job.pk, "bores"))
    return _bore_form(request, Bore(job=job), job, page)


@never_cache
@get_or_post
def edit_bore(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Change a planned bore."""
    ask_to_write(request, Bore)
    bore = get_object_or_404(Bore.with_retired.select_related("job"), pk=bore_id)
    page = _bore_page(f"Edit {bore}", reverse("conflicts:bore", args=[bore.pk]))
    return _bore_form(request, bore, bore.job, page)


@never_cache
@get_or_post
def retire_bore(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Ask, say what depends on the bore and what stays in the record, and retire it with its pits."""
    ask_to_write(request, Bore)
    bore = get_object_or_404(Bore.objects.select_related("job"), pk=bore_id)
    leave_to = section_of(bore.job_id, "bores")
    return retire_page(request, bore, bore.job, leave_to=leave_to, stays=stays_on_record(bore))


@never_cache
@get_or_post
def add_pit(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Log a pit of a bore."""
    ask_to_write(request, Pit, "add")
    bore = get_object_or_404(Bore.objects.select_related("job"), pk=bore_id)
    end = request.GET.get("end", "")
    return form_page(
        request, PitForm, Pit(bore=bore, end=end), bore.job, _pit_page(f"New pit of {bore}", bore)
    )


@never_cache
@get_or_post
def edit_pit(request: HttpRequest, pit_id: UUID) -> HttpResponse:
    """Change a pit."""
    ask_to_write(request, Pit)
    pit = get_object_or_404(Pit.with_retired.select_related("bore__job"), pk=pit_id)
    return form_page(request, PitForm, pit, pit.bore.job, _pit_page(f"Edit {pit}", pit.bore))


@never_cache
@get_or_post
def retire_pit(request: HttpRequest, pit_id: UUID) -> HttpResponse:
    """Ask, and retire a pit."""
    ask_to_write(request, Pit)
    pit = get_object_or_404(Pit.objects.select_related("bore__job"), pk=pit_id)
    return retire_page(request, pit, pit.bore.job, leave_to=reverse("conflicts:bore", args=[pit.bore_id]))


def _bore_page(title: str, leave_to: str) -> FormPage:
    return FormPage(title, leave_to, template="conflicts/planned_bore.html")


def _pit_page(title: str, bore: Bore) -> FormPage:
    leave_to = reverse("conflicts:bore", args=[bore.pk])
    return FormPage(title, leave_to, template="locates/placed_form.html")


def _bore_form(request: HttpRequest, bore: Bore, job: Job, page: FormPage) -> HttpResponse:
    if request.method == "POST" and MORE_LINES in request.POST:
        typed = PlannedBoreForm(request.POST, instance=bore, job=job)
        form = PlannedBoreForm(instance=bore, job=job)
        form.initial |= {name: typed[name].data for name in typed.fields}
        return show_form(request, form, page, new_id=request.POST.get("new_id"))
    return form_page(request, PlannedBoreForm, bore, job, page)
