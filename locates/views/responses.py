"""What the operators on a ticket answered."""

from uuid import UUID

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from locates.desk.record_response import record_response
from locates.forms.form_page import FormPage, form_page
from locates.forms.permission import ask_to_write
from locates.forms.response import ResponseForm
from locates.models import Response, Ticket
from locates.views.job_forms import get_or_post


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
