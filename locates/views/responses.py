"""What the operators on a ticket answered, and the papers that came with it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from locates.desk.answer_sheet import answer_sheet
from locates.desk.record_response import record_response
from locates.desk.save_record import named
from locates.errors import RetiredMeanwhileError
from locates.forms.form_page import RECALCULATED, FormPage, form_page, show_form
from locates.forms.permission import ask_to_write
from locates.forms.quick_answer import QuickAnswerForm, quick_answer_form
from locates.forms.response import ResponseForm
from locates.models import Response, Ticket
from locates.views.job_forms import get_or_post

ANSWERING = "answering"
"""Member of an address's query that puts the cursor into the quick entry."""


@never_cache
@get_or_post
def add_response(request: HttpRequest, ticket_id: UUID) -> HttpResponse:
    """Add what an operator answered; the page stays, for the next one."""
    ask_to_write(request, Response, "add")
    ticket = get_object_or_404(Ticket.objects.select_related("job__jurisdiction", "dates_rule"), pk=ticket_id)
    page = _page(ticket, answers_context(request, ticket, page="responses"))
    return form_page(request, ResponseForm, Response(ticket=ticket), ticket.job, page)


@never_cache
@require_POST
def add_quick_response(request: HttpRequest, ticket_id: UUID) -> HttpResponse:
    """Add an answer typed in a few letters, and go back for the next; what cannot be read is shown again."""
    ask_to_write(request, Response, "add")
    ticket = get_object_or_404(Ticket.objects.select_related("job__jurisdiction", "dates_rule"), pk=ticket_id)
    form = QuickAnswerForm(request.POST, operators=list(ticket.job.operators.order_by("name")))
    if form.is_valid() and _store(request, ticket, form):
        return redirect(_address_of(form.cleaned_data["page"], ticket))
    form.put_cursor()
    context = answers_context(request, ticket, page="responses") | {"quick": form}
    blank = ResponseForm(instance=Response(ticket=ticket), job=ticket.job)
    return show_form(request, blank, _page(ticket, context))


def answers_context(request: HttpRequest, ticket: Ticket, *, page: str = "ticket") -> dict[str, Any]:
    """What a page needs that includes ``locates/ticket_responses.html``; see `answer_sheet` for its ticket.

    ``page`` is where the quick entry comes back to. On the ticket's own page it takes the cursor only where
    the address asks for it, which it does after an answer was saved.
    """
    answers = answer_sheet(ticket, timezone.now())
    focus = request.method != "POST" and (page == "responses" or ANSWERING in request.GET)
    quick = quick_answer_form(answers.job_operators, answers.next_operator, page, focus=focus)
    return {"ticket": ticket, "answers": answers, "quick": quick}


def _page(ticket: Ticket, context: dict[str, Any]) -> FormPage:
    return FormPage(
        f"Responses on {ticket.number}",
        reverse("locates:response-add", args=[ticket.pk]),
        back_to=f"{reverse('locates:ticket', args=[ticket.pk])}#answers",
        save=record_response,
        template="locates/response_form.html",
        context=context,
        submit="Add the response",
    )


def _address_of(page: str, ticket: Ticket) -> str:
    if page == "ticket":
        # Without a fragment: where an address has one, browsers leave the cursor alone.
        return f"{reverse('locates:ticket', args=[ticket.pk])}?{ANSWERING}=1"
    return reverse("locates:response-add", args=[ticket.pk])


def _store(request: HttpRequest, ticket: Ticket, form: QuickAnswerForm) -> bool:
    """Whether the answer is stored, now or by the same form before."""
    told = form.cleaned_data
    response = Response(
        pk=told["new_id"], ticket=ticket, operator=told["operator"], response=told["response"]
    )
    try:
        record_response(response, by=request.user)
    except RetiredMeanwhileError as error:
        form.add_error(None, f"{error}. What you typed is still here: send it once that is done.")
        return False
    messages.success(request, f"Saved: {named(response)}. {RECALCULATED}")
    return True
