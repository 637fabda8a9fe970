"""The tickets whose dates a person is to hold against a newer version of their rule."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from locates.desk.review_dates import mark_reviewed, reviews_of
from locates.forms.permission import ask_to_write
from locates.models import Ticket

REVIEWS_A_PAGE = 20

may_view = permission_required("locates.view_ticket", raise_exception=True)


@may_view
@never_cache
@require_safe
def tickets_to_review(request: HttpRequest) -> HttpResponse:
    """List tickets with their dates beside those of the newest version, the first to expire first."""
    ours = Ticket.objects.seen_by(request.user.pk)
    waiting = ours.to_review(timezone.now()).select_related("job", "dates_rule")
    page = Paginator(waiting.order_by("expires_at", "pk"), REVIEWS_A_PAGE).get_page(request.GET.get("page"))
    context = {"section": "tickets", "page": page, "reviews": reviews_of(page)}
    return render(request, "locates/tickets_to_review.html", context)


@require_POST
def ticket_reviewed(request: HttpRequest, ticket_id: UUID) -> HttpResponse:
    """Note that a person has held a ticket's dates against the version and the day that the page showed."""
    ask_to_write(request, Ticket)
    waiting = Ticket.objects.to_review(timezone.now()).select_related("day_review")
    ticket = waiting.filter(pk=ticket_id).first()
    if ticket is None:
        there = get_object_or_404(Ticket, pk=ticket_id)
        messages.info(request, f"Ticket {there.number} is not to be reviewed any more.")
        return redirect("locates:tickets-to-review")
    if str(ticket.newest_rule) != request.POST.get("rule"):
        messages.error(request, f"The rule has changed again: look at {ticket.number} anew.")
        return redirect("locates:tickets-to-review")
    review = getattr(ticket, "day_review", None)
    if review is not None and str(review.centre_day_id) != request.POST.get("day"):
        messages.error(request, f"The centre's days have changed again: look at {ticket.number} anew.")
        return redirect("locates:tickets-to-review")
    mark_reviewed(ticket.pk, ticket.newest_rule, by=request.user)
    messages.success(request, f"Reviewed: ticket {ticket.number}. Its dates stay as they are.")
    return redirect("locates:tickets-to-review")
