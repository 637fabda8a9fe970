"""The audit, for whoever may sign a variance: its page, and all of it as files."""

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.desk.audit_sheet import read_audit
from conflicts.exchange.audit_export import BOOK_TYPE, export_book, export_section
from conflicts.forms.audit import AuditForm
from locates.errors import LocatesError, PlaceInListError
from locates.models.membership import organisation_of

may_audit = permission_required(
    ("conflicts.view_release", "locates.view_recordevent", "conflicts.add_variancesignature"),
    raise_exception=True,
)


@may_audit
@never_cache
@require_safe
def audit(request: HttpRequest) -> HttpResponse:
    """Show the figures, the plot of margins and one part of the record."""
    return _show(request)


@may_audit
@never_cache
@require_safe
def audit_file(request: HttpRequest) -> HttpResponse:
    """Send one part, as chosen, as a CSV file."""
    form = AuditForm(request.GET)
    if not form.is_valid():
        return _show(request, status=400)
    try:
        filters = form.filters(organisation_of(request.user.pk))
        name, content = export_section(filters, request.GET.get("section", ""), timezone.now())
    except LocatesError as error:
        return _show(request, error=str(error), status=400)
    return _attached(content, name, "text/csv; charset=utf-8")


@may_audit
@never_cache
@require_safe
def audit_book(request: HttpRequest) -> HttpResponse:
    """Send every part, as chosen, as a workbook."""
    form = AuditForm(request.GET)
    if not form.is_valid():
        return _show(request, status=400)
    try:
        name, content = export_book(form.filters(organisation_of(request.user.pk)), timezone.now())
    except LocatesError as error:
        return _show(request, error=str(error), status=400)
    return _attached(content, name, BOOK_TYPE)


def _attached(content: bytes, name: str, media_type: str) -> HttpResponse:
    response = HttpResponse(content, content_type=media_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _show(request: HttpRequest, *, error: str = "", status: int = 200) -> HttpResponse:
    form = AuditForm(request.GET)
    form.is_valid()
    section, after = request.GET.get("section", ""), request.GET.get("after", "")
    filters = form.filters(organisation_of(request.user.pk))
    try:
        page = read_audit(filters, section, after)
    except PlaceInListError as refused:
        error, after = str(refused), ""
        page = read_audit(filters, section, "")
    context = {
        "section": "audit",
        "form": form,
        "query": form.query(),
        "page": page,
        "is_first": not after,
        "error": error,
    }
    return render(request, "conflicts/audit.html", context, status=status)
