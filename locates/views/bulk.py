"""Many tickets or responses from a CSV file, in three steps: file, columns, check; then the result."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from locates.desk.bring_file import confirm, mapping_now, tables_of
from locates.desk.bring_tickets import Draft, drafted, keep_rows, store_rows
from locates.desk.draft_tickets import DraftTickets
from locates.desk.settle_dates import rule_in_use
from locates.errors import LocatesError
from locates.exchange.bulk_kinds import BULK_KINDS
from locates.exchange.bulk_preview import shown_responses, shown_tickets
from locates.exchange.csv_tables import write_csv
from locates.exchange.vector_errors import RowsRefused, VectorFileError
from locates.exchange.vector_preview import raw_rows
from locates.forms.bulk_columns import BulkColumnsForm
from locates.forms.bulk_upload import BulkJobForm, BulkUploadForm, bulk_kinds_for
from locates.models import Job, VectorImport
from locates.views.job_forms import get_or_post

may_import = permission_required("locates.add_vectorimport", raise_exception=True)


@may_import
@never_cache
@require_safe
def choose_job(request: HttpRequest) -> HttpResponse:
    """Ask which job a file is for, and go there."""
    _ask_for_kinds(request)
    form = BulkJobForm(request.GET or None, request.user.pk)
    if form.is_valid():
        return redirect("locates:bulk", form.cleaned_data["job"].pk)
    return render(request, "locates/bulk_job.html", {"section": "tickets", "form": form})


@may_import
@never_cache
@get_or_post
def begin(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Ask for the kind of record and the file."""
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    allowed = _ask_for_kinds(request)
    form = BulkUploadForm(request.POST or None, request.FILES or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        upload, kind = form.cleaned_data["file"], form.cleaned_data["kind"]
        try:
            brought = keep_rows(job, kind, upload.name, upload.read(), by=request.user, at=timezone.now())
        except VectorFileError as error:
            form.add_error("file", f"{str(error)[:1].upper()}{str(error)[1:]}.")
        else:
            return redirect("locates:bulk-columns", job.pk, brought.pk)
    kinds = [BULK_KINDS[name] for name, _ in allowed]
    context = {"form": form, "kinds": kinds, "rule": rule_in_use(job)}
    return render(request, "locates/bulk_file.html", {**_page(job, 1), **context})


@may_import
@require_safe
def empty_file(request: HttpRequest, kind: str) -> HttpResponse:
    """Give an empty file with the headings."""
    if kind not in BULK_KINDS:
        raise Http404("No such kind of record comes in bulk.")
    if kind not in dict(bulk_kinds_for(request.user)):
        raise PermissionDenied
    found = BULK_KINDS[kind]
    response = HttpResponse(write_csv(found.headings, ()), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{found.plural}.csv"'
    return response


@may_import
@never_cache
@get_or_post
def columns(request: HttpRequest, job_id: UUID, import_id: UUID) -> HttpResponse:
    """Ask where each field comes from."""
    brought = _brought(request, job_id, import_id)
    if brought.stored_at is not None:
        return redirect("locates:bulk-result", job_id, import_id)
    (table,) = tables_of(brought)
    kind = BULK_KINDS[brought.kind]
    form = BulkColumnsForm(request.POST or None, table=table, kind=kind, mapping=mapping_now(brought))
    if request.method == "POST" and form.is_valid():
        confirm(brought, form.confirmed())
        return redirect("locates:bulk-check", job_id, import_id)
    context = {"form": form, "table": table, "raw_rows": raw_rows(table)}
    return render(request, "locates/bulk_columns.html", {**_page(brought.job, 2, brought), **context})


@may_import
@never_cache
@get_or_post
def check(request: HttpRequest, job_id: UUID, import_id: UUID) -> HttpResponse:
    """Show what would be stored and what is wrong with it; store it when asked."""
    brought = _brought(request, job_id, import_id)
    lines: list[str] = []
    if request.method == "POST":
        try:
            brought = store_rows(brought, by=request.user, at=timezone.now())
        except RowsRefused as error:
            lines = error.lines()
        except LocatesError as error:
            lines = [str(error)]
    if brought.stored_at is not None:
        return redirect("locates:bulk-result", job_id, import_id)
    draft = drafted(brought, brought.job, timezone.now())
    if draft.errors and not lines:
        lines = RowsRefused(draft.errors).lines()
    context = {
        "lines": lines,
        "may_store": not draft.errors,
        "draft": draft,
        **({} if draft.errors else _preview(brought.job, draft)),
    }
    return render(request, "locates/bulk_check.html", {**_page(brought.job, 3, brought), **context})


@may_import
@never_cache
@require_safe
def result(request: HttpRequest, job_id: UUID, import_id: UUID) -> HttpResponse:
    """Say what was stored."""
    brought = _brought(request, job_id, import_id)
    if brought.stored_at is None:
        return redirect("locates:bulk-columns", job_id, import_id)
    return render(request, "locates/bulk_result.html", _page(brought.job, 4, brought))


def _ask_for_kinds(request: HttpRequest) -> list[tuple[str, str]]:
    allowed = bulk_kinds_for(request.user)
    if not allowed:
        raise PermissionDenied
    return allowed


def _brought(request: HttpRequest, job_id: UUID, import_id: UUID) -> VectorImport:
    """The person's own file, as long as it is kept and the person may add such records."""
    alive = VectorImport.objects.alive(timezone.now()).select_related(
        "job__organisation", "job__jurisdiction"
    )
    live_jobs = alive.filter(job__in=Job.objects.filter(pk=job_id), kind__in=BULK_KINDS)
    found = get_object_or_404(live_jobs, pk=import_id, made_by=request.user)
    if found.kind not in dict(bulk_kinds_for(request.user)):
        raise PermissionDenied
    return found


def _page(job: Job, step: int, brought: VectorImport | None = None) -> dict[str, Any]:
    kind = None if brought is None else BULK_KINDS[brought.kind]
    return {"section": "jobs", "job": job, "step": step, "brought": brought, "kind": kind}


def _preview(job: Job, draft: Draft) -> dict[str, Any]:
    if isinstance(draft, DraftTickets):
        return {"tickets": shown_tickets(job, draft.records, draft.told, draft.places)}
    return {"responses": shown_responses(job, draft.records, draft.places)}
