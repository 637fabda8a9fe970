"""The ticket desk's board: what must be done, all tickets, both as files, and the views that people keep."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from locates.desk.board_sheet import read_matters, read_tickets
from locates.desk.keep_view import keep_view, let_go
from locates.errors import LocatesError, PlaceInListError, ViewError
from locates.exchange.board_export import FORMATS, export_board
from locates.forms.board import BoardForm, KeepViewForm
from locates.models import BoardList, SavedView, organisation_of

may_view = permission_required(("locates.view_ticket", "locates.view_ticketmatter"), raise_exception=True)

ORDERS = {
    BoardList.MATTERS: [
        ("due", "first due"),
        ("due_last", "last due"),
        ("job", "job"),
        ("number", "ticket number"),
    ],
    BoardList.TICKETS: [
        ("called_last", "last called"),
        ("called_first", "first called"),
        ("job", "job"),
        ("number", "ticket number"),
    ],
}
ADDRESSES = {BoardList.MATTERS: "locates:board", BoardList.TICKETS: "locates:board-tickets"}
READERS = {BoardList.MATTERS: read_matters, BoardList.TICKETS: read_tickets}


@may_view
@never_cache
@require_safe
def board(request: HttpRequest) -> HttpResponse:
    """Show what must be done, the first due first."""
    return _show(request, BoardList.MATTERS, request.GET)


@may_view
@never_cache
@require_safe
def tickets(request: HttpRequest) -> HttpResponse:
    """Show all tickets as they stand."""
    return _show(request, BoardList.TICKETS, request.GET)


@may_view
@never_cache
@require_safe
def export(request: HttpRequest, board_list: str, format_name: str) -> HttpResponse:
    """Send what is chosen as a file."""
    if board_list not in BoardList.values or format_name not in FORMATS:
        raise Http404
    chosen = FORMATS[format_name]
    form = _form(request, BoardList(board_list), request.GET)
    if not form.is_valid():
        return _show(request, BoardList(board_list), request.GET, status=400)
    try:
        name, content = export_board(
            BoardList(board_list), form.filters(timezone.now(), request.user.pk), form.order_name(), chosen
        )
    except LocatesError as error:
        return _show(request, BoardList(board_list), request.GET, error=str(error), status=400)
    response = HttpResponse(content, content_type=chosen.media_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["X-Content-Type-Options"] = "nosniff"
    return response


@may_view
@never_cache
@require_POST
def keep(request: HttpRequest, board_list: str) -> HttpResponse:
    """Keep what a list shows under a name."""
    if board_list not in BoardList.values:
        raise Http404
    name = KeepViewForm(request.POST)
    query = QueryDict(request.POST.get("query", "")[:1000])
    form = _form(request, BoardList(board_list), query)
    if not (name.is_valid() and form.is_valid()):
        return _show(request, BoardList(board_list), query, name=name, status=400)
    try:
        view = keep_view(request.user, name.cleaned_data["name"], BoardList(board_list), form.query())
    except ViewError as error:
        name.add_error("name", str(error))
        return _show(request, BoardList(board_list), query, name=name, status=400)
    messages.success(request, f"The view {view.name} is kept.")
    return redirect(_address(view))


@may_view
@require_POST
def forget(request: HttpRequest, view_id: UUID) -> HttpResponse:
    """Let go of a view of one's own."""
    name = let_go(request.user, view_id)
    if name is None:
        raise Http404
    messages.success(request, f"The view {name} is no longer kept.")
    return redirect("locates:board")


def _form(request: HttpRequest, board_list: BoardList, query: QueryDict) -> BoardForm:
    return BoardForm(query, board_list, ORDERS[board_list], organisation_of(request.user.pk))


def _address(view: SavedView) -> str:
    address = reverse(ADDRESSES[BoardList(view.board_list)])
    return f"{address}?{view.query}" if view.query else address


def _show(
    request: HttpRequest,
    board_list: BoardList,
    query: QueryDict,
    *,
    name: KeepViewForm | None = None,
    error: str = "",
    status: int = 200,
) -> HttpResponse:
    at = timezone.now()
    form = _form(request, board_list, query)
    form.is_valid()
    read, order = READERS[board_list], form.order_name()
    filters = form.filters(at, request.user.pk)
    try:
        page = read(filters, order, query.get("after", ""), at)
    except PlaceInListError as refused:
        error = str(refused)
        page = read(filters, order, "", at)
    views = [(view, _address(view)) for view in SavedView.objects.filter(user=request.user)]
    context: dict[str, Any] = {
        "section": "tickets",
        "at": at,
        "board_list": board_list,
        "list_address": reverse(ADDRESSES[board_list]),
        "is_matters": board_list == BoardList.MATTERS,
        "form": form,
        "query": form.query(),
        "page": page,
        "is_first": not query.get("after") or bool(error),
        "views": views,
        "name_form": name or KeepViewForm(initial={"query": form.query()}),
        "formats": [(key, one.label) for key, one in FORMATS.items()],
        "error": error,
    }
    return render(request, "locates/board.html", context, status=status)
