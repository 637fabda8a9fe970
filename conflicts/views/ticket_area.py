"""A ticket's form with its work area filled in from a bore; nothing that was typed is lost."""

from typing import Any
from uuid import UUID

from django.contrib.gis.geos import MultiPolygon
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from conflicts.desk.corridor import corridor_about
from conflicts.models import Bore
from locates.errors import LengthError
from locates.forms.form_page import show_form
from locates.forms.permission import ask_to_write
from locates.forms.ticket import TicketForm, ticket_page
from locates.models import Job, Ticket
from locates.units import parse_length_m

WIDEST_M = 100.0  # a work area is a street's width about a bore; more is a slip of the unit


@never_cache
@require_POST
def ticket_area(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Show a ticket's form again as it was typed, with a corridor about a bore as its work area."""
    stored = request.POST.get("stored_ticket", "")
    ask_to_write(request, Ticket, "change" if stored else "add")
    job = get_object_or_404(Job, pk=job_id)
    ticket = get_object_or_404(Ticket, pk=_id(stored), job=job) if stored else Ticket(job=job)
    form = TicketForm.as_typed(request.POST, instance=ticket, job=job)
    context: dict[str, Any] = {"corridor_width": request.POST.get("corridor_width", "")}
    try:
        bores = Bore.objects.select_related("job")
        bore = get_object_or_404(bores, pk=_id(request.POST.get("corridor_bore", "")), job=job)
        context["corridor_bore"] = bore.pk
        area = _corridor(bore, context["corridor_width"])
        form.initial["area"] = form.fields["area"].prepare_value(area)
        context["corridor_note"] = (
            f"The corners are those of the corridor about {bore}. Nothing is saved yet."
        )
    except LengthError as error:
        context["corridor_error"] = str(error)
    return show_form(request, form, ticket_page(ticket, context), new_id=request.POST.get("new_id"))


def _id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise Http404("No record has that id.") from error


def _corridor(bore: Bore, width: str) -> MultiPolygon:
    distance_m = parse_length_m(width)
    if not 0 < distance_m <= WIDEST_M:
        raise LengthError(width, f"a corridor reaches more than 0 and at most {WIDEST_M:.0f} m to each side")
    return corridor_about(bore, distance_m)
