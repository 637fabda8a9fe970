"""One ticket's page: its dates, area, answers and history; and whether its work is over."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from locates.desk.finish_work import finish_work, resume_work
from locates.desk.settle_dates import rule_in_use
from locates.desk.ticket_chain import chain_of
from locates.errors import RetiredMeanwhileError
from locates.forms.permission import ask_to_write
from locates.models import Job, Ticket
from locates.ticket_dates import changed_day_of, date_rows, is_to_review
from locates.views.responses import answers_context

may_view = permission_required("locates.view_ticket", raise_exception=True)


@may_view
@never_cache
@require_safe
def ticket(request: HttpRequest, ticket_id: UUID) -> HttpResponse:
    """Show a ticket in full."""
    found = get_object_or_404(
        Ticket.objects.filter(job__in=Job.objects.all()).select_related(
            "job__organisation",
            "job__jurisdiction",
            "dates_rule",
            "work_finished_by",
            "day_review__centre_day",
        ),
        pk=ticket_id,
    )
    newest = rule_in_use(found.job)
    context = {
        "section": "tickets",
        "job": found.job,
        "ticket": found,
        "at": timezone.now(),
        "dates": date_rows(found),
        "chain": chain_of(found),
        "corners": [[(lat, lon) for lon, lat in part.shell.coords[:-1]] for part in found.area],
        "newer_rule": newest if is_to_review(found, newest) else None,
        "changed_day": changed_day_of(found),
        **answers_context(request, found),
    }
    return render(request, "locates/ticket.html", context)


@require_POST
def finish(request: HttpRequest, ticket_id: UUID) -> HttpResponse:
    """Say that a ticket's work is over, or take that back where ``undo`` is sent."""
    ask_to_write(request, Ticket)
    get_object_or_404(Ticket, pk=ticket_id, job__in=Job.objects.all())
    try:
        if "undo" in request.POST:
            told = resume_work(ticket_id, by=request.user)
            messages.success(request, f"The work of ticket {told.number} goes on: a renewal is wanted again.")
        else:
            told = finish_work(ticket_id, by=request.user, at=timezone.now())
            messages.success(request, f"The work of ticket {told.number} is over: no renewal is wanted.")
    except (ValidationError, RetiredMeanwhileError) as refused:
        words = "; ".join(refused.messages) if isinstance(refused, ValidationError) else str(refused)
        messages.error(request, f"Nothing is changed. {words}")
    return redirect("locates:ticket", ticket_id)
