"""Reports of damage and near misses: telling of one, and reading one."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from conflicts.bore_address import bore_address
from conflicts.desk.report_damage import report_damage
from conflicts.forms.damage import DamageForm
from conflicts.models import DamageReport
from conflicts.views.signed_forms import new_id
from locates.errors import RetiredMeanwhileError
from locates.exchange.photo_guard import PhotoError
from locates.forms.permission import ask_to_write
from locates.forms.photos_field import words_of
from locates.models import Job, LedgerEntry, Photo

may_view = permission_required(("locates.view_job", "conflicts.view_damagereport"), raise_exception=True)


@may_view
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def damage_add(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Show the form of a report, or store one."""
    job = get_object_or_404(Job, pk=job_id)
    ask_to_write(request, DamageReport, "add")
    if request.method == "POST":
        ask_to_write(request, Photo, "add")
        return _store(request, job)
    return _show(request, job, DamageForm(job=job, initial={"happened_at": timezone.now()}), uuid4())


def _store(request: HttpRequest, job: Job) -> HttpResponse:
    key = new_id(request, DamageReport, job=job)
    if DamageReport.objects.filter(pk=key).exists():
        return redirect("conflicts:damage", key)
    form = DamageForm(request.POST, request.FILES, job=job, instance=DamageReport(pk=key, job=job))
    if form.is_valid():
        try:
            stored = report_damage(
                form.instance,
                by=request.user,
                photo_sha256s=[photo.sha256 for photo in form.cleaned_data["photos"]],
                keep_photos=lambda report: form.keep_photos(report, by=request.user),
            )
        except PhotoError as error:
            form.add_error("photos", words_of(error))
        except RetiredMeanwhileError as error:
            form.add_error(None, f"{error}.")
        else:
            messages.success(request, f"Reported: {stored.get_kind_display()}. It stands in the ledger.")
            return redirect("conflicts:damage", stored.pk)
    return _show(request, job, form, key)


def _show(request: HttpRequest, job: Job, form: DamageForm, key: UUID) -> HttpResponse:
    context = {
        "section": "jobs",
        "job": job,
        "form": form,
        "new_id": key,
        "operators": job.operators.order_by("name"),
    }
    return render(request, "conflicts/damage_add.html", context)


@may_view
@never_cache
@require_safe
def damage(request: HttpRequest, damage_id: UUID) -> HttpResponse:
    """Show one report as it was told."""
    report = get_object_or_404(DamageReport.objects.select_related("job", "bore", "mark"), pk=damage_id)
    entry = LedgerEntry.objects.filter(kind=DamageReport.LEDGER_KIND, record_id=report.pk).first()
    context = {
        "section": "jobs",
        "job": report.job,
        "report": report,
        "entry": entry,
        "bore_address": report.bore and bore_address(report.bore.pk, report.bore.retired_at),
    }
    return render(request, "conflicts/damage.html", context)
