"""Files of surveyed things into a job, in four steps: file, columns, values, check; then the result."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from locates.desk.bring_file import confirm, keep_file, mapping_now, store_file, table_of, tables_of
from locates.desk.check_file import check_file, refused
from locates.desk.import_progress import progress_of
from locates.desk.work_on_file import MOST_AT_ONCE, ask_for, is_being_stored, rows_of
from locates.errors import LocatesError
from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_kinds import KINDS
from locates.exchange.vector_mapping import guessed, values_to_confirm
from locates.exchange.vector_preview import raw_rows
from locates.forms.vector_columns import ColumnsForm
from locates.forms.vector_upload import UploadForm, kinds_for
from locates.forms.vector_values import ValuesForm
from locates.models import ImportWork, Job, VectorImport
from locates.models.import_work import WorkKind

get_or_post = require_http_methods(["GET", "HEAD", "POST"])
may_import = permission_required("locates.add_vectorimport", raise_exception=True)


@may_import
@never_cache
@get_or_post
def begin(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Ask for the kind of record and the file."""
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    if not kinds_for(request.user):
        raise PermissionDenied
    form = UploadForm(request.POST or None, request.FILES or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        upload = form.cleaned_data["file"]
        kind = form.cleaned_data["kind"]
        try:
            brought = keep_file(job, kind, upload.name, upload.read(), by=request.user, at=timezone.now())
        except VectorFileError as error:
            form.add_error("file", f"{str(error)[:1].upper()}{str(error)[1:]}.")
        else:
            return redirect("locates:import-columns", job.pk, brought.pk)
    return render(request, "locates/import_file.html", {**_page(job, 1), "form": form})


@may_import
@never_cache
@get_or_post
def columns(request: HttpRequest, job_id: UUID, import_id: UUID) -> HttpResponse:
    """Ask what the coordinates are in and where each field comes from."""
    brought = _brought(request, job_id, import_id)
    if brought.stored_at is not None:
        return redirect("locates:import-result", job_id, import_id)
    if is_being_stored(brought):
        return redirect("locates:import-check", job_id, import_id)
    kind, tables, mapping = KINDS[brought.kind], tables_of(brought), mapping_now(brought)
    layer = request.GET.get("layer", mapping.layer)
    table = table_of(tables, replace(mapping, layer=layer))
    if table.name != mapping.layer:
        mapping = guessed(table, kind)
    form = ColumnsForm(request.POST or None, table=table, kind=kind, mapping=mapping)
    if request.method == "POST" and form.is_valid():
        confirm(brought, form.confirmed())
        return redirect("locates:import-values", job_id, import_id)
    context = {
        **_page(brought.job, 2, brought),
        "form": form,
        "table": table,
        "layers": tables if len(tables) > 1 else [],
        "raw_rows": raw_rows(table),
    }
    return render(request, "locates/import_columns.html", context)


@may_import
@never_cache
@get_or_post
def values(request: HttpRequest, job_id: UUID, import_id: UUID) -> HttpResponse:
    """Ask what the file's words mean; passed by where there are none to explain."""
    brought = _brought(request, job_id, import_id)
    if brought.stored_at is not None:
        return redirect("locates:import-result", job_id, import_id)
    if is_being_stored(brought):
        return redirect("locates:import-check", job_id, import_id)
    kind, mapping = KINDS[brought.kind], mapping_now(brought)
    context = _page(brought.job, 3, brought)
    try:
        found = values_to_confirm(table_of(tables_of(brought), mapping), kind, mapping)
    except VectorFileError as error:
        return render(request, "locates/import_refused.html", {**context, "lines": [str(error)]}, status=422)
    if not found:
        return redirect("locates:import-check", job_id, import_id)
    form = ValuesForm(
        request.POST or None,
        kind=kind,
        mapping=mapping,
        found=found,
        operators=list(brought.job.operators.order_by("name").values_list("name", flat=True)),
        may_add_operators=request.user.has_perm("locates.add_facilityoperator"),
    )
    if request.method == "POST" and form.is_valid():
        confirm(brought, form.confirmed())
        return redirect("locates:import-check", job_id, import_id)
    return render(request, "locates/import_values.html", {**context, "form": form})


@may_import
@never_cache
@get_or_post
def check(request: HttpRequest, job_id: UUID, import_id: UUID) -> HttpResponse:
    """Show what would be stored and what is wrong with it; store it when asked."""
    brought = _brought(request, job_id, import_id)
    if brought.stored_at is not None:
        return redirect("locates:import-result", job_id, import_id)
    if rows_of(brought) > MOST_AT_ONCE:
        return _check_large(request, brought)
    context = _page(brought.job, 4, brought)
    sheet = check_file(brought, brought.job)
    if request.method == "POST":
        try:
            store_file(brought, by=request.user, at=timezone.now())
        except LocatesError as error:
            sheet |= {"lines": refused(error)["lines"]}
        else:
            return redirect("locates:import-result", job_id, import_id)
    return render(request, "locates/import_check.html", {**context, "sheet": sheet, "lines": sheet["lines"]})


def _check_large(request: HttpRequest, brought: VectorImport) -> HttpResponse:
    """The same where a worker does both; what it found is shown with the moment at which it was so."""
    work = ImportWork.objects.of(brought.pk)
    if request.method == "POST":
        wanted = WorkKind.STORE if request.POST.get("do") == "store" else WorkKind.CHECK
        ask_for(brought, wanted)
        return redirect("locates:import-check", brought.job_id, brought.pk)
    if work is None:
        ask_for(brought, WorkKind.CHECK)
        work = ImportWork.objects.of(brought.pk)
    if work is not None and not work.is_waiting and not work.outcome and not work.failure:
        return redirect("locates:import-result", brought.job_id, brought.pk)  # stored this very moment
    context = _page(brought.job, 4, brought)
    if work is None or work.is_waiting or work.failure:
        return render(
            request, "locates/import_progress.html", {**context, "work": work, "progress": progress_of(work)}
        )
    context |= {"sheet": work.outcome, "lines": work.outcome["lines"], "checked_at": work.finished_at}
    return render(request, "locates/import_check.html", context)


@may_import
@never_cache
@require_safe
def state(request: HttpRequest, job_id: UUID, import_id: UUID) -> JsonResponse:
    """How far the worker is with a large file, for the page that waits."""
    brought = _brought(request, job_id, import_id, without=("content",))
    return JsonResponse(progress_of(ImportWork.objects.of(brought.pk)))


@may_import
@never_cache
@get_or_post
def result(request: HttpRequest, job_id: UUID, import_id: UUID) -> HttpResponse:
    """Say what was stored."""
    brought = _brought(request, job_id, import_id)
    if brought.stored_at is None:
        return redirect("locates:import-columns", job_id, import_id)
    return render(request, "locates/import_result.html", _page(brought.job, 5, brought))


def _brought(
    request: HttpRequest, job_id: UUID, import_id: UUID, *, without: tuple[str, ...] = ()
) -> VectorImport:
    """The person's own import, as long as it is kept and the person may add such records."""
    alive = VectorImport.objects.alive(timezone.now()).select_related(
        "job__organisation", "job__jurisdiction"
    )
    live_jobs = alive.filter(job__in=Job.objects.filter(pk=job_id))
    found = get_object_or_404(live_jobs.defer(*without), pk=import_id, made_by=request.user)
    if found.kind not in dict(kinds_for(request.user)):
        raise PermissionDenied
    return found


def _page(job: Job, step: int, brought: VectorImport | None = None) -> dict[str, Any]:
    kind = None if brought is None else KINDS[brought.kind]
    return {"section": "jobs", "job": job, "step": step, "brought": brought, "kind": kind}
