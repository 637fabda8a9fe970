"""The forms of the ticket desk: tickets, and surface features settled."""

from dataclasses import replace
from uuid import UUID, uuid4

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from locates.desk.renew_ticket import KINDS, draft_successor, operators_told
from locates.forms.form_page import FormPage, form_page, section_of, show_form
from locates.forms.permission import ask_to_write
from locates.forms.sign_off import SignOffForm
from locates.forms.ticket import TicketForm, ticket_page
from locates.models import Job, SurfaceFeature, Ticket, TicketKind
from locates.ticket_dates import DATES
from locates.views.job_forms import get_or_post


@never_cache
@get_or_post
def add_ticket(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Log a ticket that was called in."""
    ask_to_write(request, Ticket, "add")
    job = get_object_or_404(Job, pk=job_id)
    ticket = Ticket(job=job)
    return form_page(request, TicketForm, ticket, job, _new_page(ticket, request.POST))


@never_cache
@get_or_post
def edit_ticket(request: HttpRequest, record_id: UUID) -> HttpResponse:
    """Change a ticket."""
    ask_to_write(request, Ticket)
    ticket = get_object_or_404(Ticket.with_retired.select_related("job"), pk=record_id)
    return form_page(request, TicketForm, ticket, ticket.job, ticket_page(ticket))


@never_cache
@require_POST
def ticket_dates(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Show a ticket's form again as it was typed, with the dates worked out; nothing is saved."""
    stored = request.POST.get("stored_ticket", "")
    ask_to_write(request, Ticket, "change" if stored else "add")
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    ticket = Ticket(job=job)
    if stored:
        ticket = get_object_or_404(Ticket.objects.select_related("dates_rule"), pk=_id(stored), job=job)
    form = TicketForm.as_typed(request.POST, instance=ticket, job=job)
    form.dating.show(request.POST)
    page = ticket_page(ticket) if stored else _new_page(ticket, request.POST)
    return show_form(request, form, page, new_id=request.POST.get("new_id"))


def _id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise Http404("No record has that id.") from error


@never_cache
@require_safe
def renew_ticket(request: HttpRequest, ticket_id: UUID) -> HttpResponse:
    """Show a new ticket's form filled in from the one that it renews, or re-marks where ``kind`` says so."""
    ask_to_write(request, Ticket, "add")
    before = get_object_or_404(_renewable(), pk=ticket_id)
    draft = draft_successor(before, _kind_of(request.GET.get("kind", "")))
    told = {"operators": [operator.pk for operator in operators_told(before)]}
    form = TicketForm(instance=draft, job=before.job, initial=told)
    return show_form(request, form, _renewal_page(draft, before, draft.ticket_kind), new_id=uuid4())


def _renewable() -> QuerySet[Ticket]:
    return Ticket.objects.filter(job__in=Job.objects.all()).select_related(
        "job__organisation", "job__jurisdiction", "work_finished_by"
    )


def _kind_of(asked: str) -> TicketKind:
    return next((kind for kind in KINDS if kind == asked), TicketKind.RENEWAL)


def _new_page(ticket: Ticket, sent: QueryDict) -> FormPage:
    """The page of a new ticket's form; one that began as a renewal keeps what stands of the ticket before."""
    if not sent.get("drafted_from"):
        return ticket_page(ticket)
    before = _renewable().filter(pk=_id(sent["drafted_from"]), job=ticket.job_id).first()
    if before is None:
        return ticket_page(ticket)
    return _renewal_page(ticket, before, _kind_of(sent.get("ticket_kind", "")))


def _renewal_page(ticket: Ticket, before: Ticket, kind: TicketKind) -> FormPage:
    context = {
        "before": before,
        "at": timezone.now(),
        "ask_renew_by": DATES["renew_by"][1],
        "successors": Ticket.objects.filter(job=before.job_id, previous_number=before.number),
    }
    words = "Renew" if kind == TicketKind.RENEWAL else "Re-mark"
    return replace(
        ticket_page(ticket, context),
        title=f"{words} ticket {before.number}",
        template="locates/ticket_renew.html",
    )


@never_cache
@get_or_post
def sign_off_feature(request: HttpRequest, record_id: UUID) -> HttpResponse:
    """Explain a surface feature by a mark, or sign it off with a reason."""
    ask_to_write(request, SurfaceFeature)
    feature = get_object_or_404(SurfaceFeature.with_retired.select_related("job"), pk=record_id)
    page = FormPage(f"Settle {feature}", section_of(feature.job_id, "surface-features"))
    return form_page(request, SignOffForm, feature, feature.job, page)
