"""The forms of the ticket desk: tickets, and surface features settled."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache

from locates.forms.form_page import FormPage, form_page, section_of
from locates.forms.permission import ask_to_write
from locates.forms.sign_off import SignOffForm
from locates.forms.ticket import TicketForm, ticket_page
from locates.models import Job, SurfaceFeature, Ticket
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
def sign_off_feature(request: HttpRequest, record_id: UUID) -> HttpResponse:
    """Explain a surface feature by a mark, or sign it off with a reason."""
    ask_to_write(request, SurfaceFeature)
    feature = get_object_or_404(SurfaceFeature.with_retired.select_related("job"), pk=record_id)
    page = FormPage(f"Settle {feature}", section_of(feature.job_id, "surface-features"))
    return form_page(request, SignOffForm, feature, feature.job, page)
