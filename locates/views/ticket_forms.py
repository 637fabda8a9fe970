"""The forms of the ticket desk: tickets, what the operators answered, and surface features settled."""

from uuid import UUID

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from locates.desk.record_response import record_response
from locates.forms.form_page import FormPage, form_page, section_of
from locates.forms.permission import ask_to_write
from locates.forms.response import ResponseForm
from locates.forms.sign_off import SignOffForm
from locates.forms.ticket import TicketForm, ticket_page
from locates.models import Job, Response, SurfaceFeature, Ticket
from locates.views.job_forms import get_or_post


@never_cache
@get_or_post
def add_ticket(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Log a ticket that was called in."""
    ask_to_write(request, Ticket, "add")
    job = get_object_or_404(Job, pk=job_id)
    ticket = Ticket(job=job)
    return form_page(request, TicketForm, ticket, job, ticket_page(ticket))


@never_cache
@get_or_post
def edit_ticket(request: HttpRequest, record_id: UUID) -> HttpResponse:
    """Change a ticket."""
    ask_to_write(request, Ticket)
    ticket = get_object_or_404(Ticket.with_retired.select_related("job"), pk=record_id)
    return form_page(request, TicketForm, ticket, ticket.job, ticket_page(ticket))


@never_cache
@get_or_post
def add_response(request: HttpRequest, ticket_id: UUID) -> HttpResponse:
    """Add what an operator answered; the page stays, for the next one."""
    ask_to_write(request, Response, "add")
    history = Response.objects.select_related("operator").order_by("sequence")
    tickets = Ticket.objects.select_related("job").prefetch_related(Prefetch("responses", queryset=history))
    ticket = get_object_or_404(tickets, pk=ticket_id)
    latest = Response.objects.filter(ticket=ticket).latest_each()
    page = FormPage(
        f"Responses on {ticket.number}",
        reverse("locates:response-add", args=[ticket.pk]),
        save=record_response,
        template="locates/response_form.html",
        context={"ticket": ticket, "latest_responses": set(latest.values_list("pk", flat=True))},
        submit="Add the response",
    )
    return form_page(request, ResponseForm, Response(ticket=ticket), ticket.job, page)


@never_cache
@get_or_post
def sign_off_feature(request: HttpRequest, record_id: UUID) -> HttpResponse:
    """Explain a surface feature by a mark, or sign it off with a reason."""
    ask_to_write(request, SurfaceFeature)
    feature = get_object_or_404(SurfaceFeature.with_retired.select_related("job"), pk=record_id)
    page = FormPage(f"Settle {feature}", section_of(feature.job_id, "surface-features"))
    return form_page(request, SignOffForm, feature, feature.job, page)
