"""Who was told what: the notices of everybody, for whoever may read every mail."""

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from locates.desk.told_sheet import read_told
from locates.errors import LocatesError, PlaceInListError
from locates.exchange.told_export import export_told
from locates.forms.notices_told import ToldForm
from locates.views.notices import READ_EVERY_MAIL

may_read_all = permission_required(("locates.view_ticket", READ_EVERY_MAIL), raise_exception=True)


@may_read_all
@never_cache
@require_safe
def told(request: HttpRequest) -> HttpResponse:
    """List what everybody was told, the newest first."""
    return _show(request)


@may_read_all
@never_cache
@require_safe
def told_file(request: HttpRequest) -> HttpResponse:
    """Send what is chosen as a CSV file."""
    form = ToldForm(request.GET, request.user.pk)
    if not form.is_valid():
        return _show(request, status=400)
    try:
        content = export_told(form.filters())
    except LocatesError as error:
        return _show(request, error=str(error), status=400)
    response = HttpResponse(content, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="who_was_told_what.csv"'
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _show(request: HttpRequest, *, error: str = "", status: int = 200) -> HttpResponse:
    form = ToldForm(request.GET, request.user.pk)
    form.is_valid()
    after = request.GET.get("after", "")
    try:
        page = read_told(form.filters(), after)
    except PlaceInListError as refused:
        error, after = str(refused), ""
        page = read_told(form.filters(), "")
    context = {
        "section": "notices",
        "form": form,
        "query": form.query(),
        "page": page,
        "is_first": not after,
        "error": error,
    }
    return render(request, "locates/notices_told.html", context, status=status)
