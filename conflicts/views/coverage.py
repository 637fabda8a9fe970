"""What tickets cover of the bores to come, and the draft of a ticket for what none covers."""

from dataclasses import replace
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.bore_states import bore_state, bore_states
from conflicts.cover_rows import cover_rows
from conflicts.coverage_sheet import coverage_sheet
from conflicts.desk.call_sheet import call_points, corners_to_read
from conflicts.desk.draft_ticket import draft_ticket, to_draft
from conflicts.models import Bore
from conflicts.needs_today import LATE
from conflicts.views.access import bore_or_404, may_view
from locates.forms.form_page import show_form
from locates.forms.permission import ask_to_write
from locates.forms.ticket import TicketForm, ticket_page
from locates.models import Ticket

BORES_A_PAGE = 12


@may_view
@never_cache
@require_safe
def coverage(request: HttpRequest) -> HttpResponse:
    """Show what tickets cover of each bore to come, the next ones first."""
    at = timezone.now()
    bores = (
        Bore.objects.seen_by(request.user.pk)
        .not_past(at - LATE)
        .select_related("job__jurisdiction")
        .by_start()
    )
    page = Paginator(bores, BORES_A_PAGE).get_page(request.GET.get("page"))
    states = bore_states(page.object_list, at)
    rows = cover_rows(states)
    context = {
        "section": "tickets",
        "page": page,
        "at": at,
        "entries": [(state, rows.get(state.bore.pk)) for state in states],
    }
    return render(request, "conflicts/coverage_list.html", context)


@never_cache
@require_safe
def ticket_draft(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show a new ticket's form filled in for the ground of a bore that no ticket covers until its finish."""
    ask_to_write(request, Ticket, "add")
    bore = bore_or_404(bore_id)
    state = bore_state(bore, timezone.now())
    if state.assessed is None:
        messages.error(request, "The bore is being recalculated, so its cover is not known. Try again then.")
        return redirect("conflicts:bore", bore.pk)
    wanted = to_draft(coverage_sheet(state.assessed.cover), request.GET.getlist("gap"))
    if not wanted:
        messages.info(request, "Nothing to draft there: tickets cover it, or its stations have changed.")
        return redirect("conflicts:bore", bore.pk)
    ticket = draft_ticket(bore, state.assessed.scene, wanted)
    context = {
        "bore": bore,
        "call_points": call_points(bore, ticket, wanted),
        "call_corners": corners_to_read(ticket.area),
    }
    page = replace(ticket_page(ticket, context), template="conflicts/ticket_draft.html")
    return show_form(request, TicketForm(instance=ticket, job=bore.job), page)
