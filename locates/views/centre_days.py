"""The days that a one-call centre counts its own way: listed, added, retired."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db import IntegrityError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from locates.desk.keep_centre_day import add_centre_day, retire_centre_day
from locates.forms.centre_day import CentreDayForm
from locates.forms.permission import ask_for_company, ask_to_write, company_of
from locates.models import CentreDay, JurisdictionRule


@permission_required("locates.view_centreday", raise_exception=True)
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def centre_days(request: HttpRequest, code: str) -> HttpResponse:
    """List the days of a jurisdiction's centre, and keep a new one where it was sent."""
    company = company_of(request)
    company_id = None if company is None else company.pk
    rule = get_object_or_404(JurisdictionRule.objects.in_use_by(company_id), code=code)
    form = CentreDayForm(request.POST or None, instance=CentreDay(code=code, organisation=company))
    if request.method == "POST":
        ask_to_write(request, CentreDay, "add")
        form.instance.organisation = ask_for_company(request)
        if form.is_valid():
            return _add(request, form)
    known = CentreDay.objects.known_to(company_id).filter(code=code)
    days = known.select_related("made_by", "retired_by")
    context = {
        "section": "rules",
        "rule": rule,
        "form": form,
        "days": [day for day in days if day.retired_at is None],
        "retired": [day for day in days if day.retired_at is not None],
    }
    return render(request, "locates/centre_days.html", context)


def _add(request: HttpRequest, form: CentreDayForm) -> HttpResponse:
    code = form.instance.code
    try:
        asked = add_centre_day(form.instance, by=request.user)
    except IntegrityError:
        # Somebody said something of the day between the check and the saving.
        messages.error(
            request, "Nothing is saved: of that day something has just been said. Look at it below."
        )
    else:
        messages.success(request, f"Saved: {form.instance}. {_say_asked(asked)}")
    return redirect("locates:centre-days", code)


@require_POST
def retire_day(request: HttpRequest, day_id: UUID) -> HttpResponse:
    """Let a day count as the lists of holidays have it."""
    ask_to_write(request, CentreDay)
    if CentreDay.objects.filter(pk=day_id, organisation=None).exists():
        messages.error(
            request,
            "Nothing is retired: all companies count by that day. Where your company knows better, add the "
            "day as it is; yours then counts before it.",
        )
        return redirect("locates:centre-days", CentreDay.objects.get(pk=day_id).code)
    try:
        day, asked = retire_centre_day(day_id, by=request.user)
    except CentreDay.DoesNotExist as unknown:
        raise Http404 from unknown
    messages.success(request, f"Retired: {day}. {_say_asked(asked)}")
    return redirect("locates:centre-days", day.code)


def _say_asked(count: int) -> str:
    if count == 0:
        return "No ticket that is called in already would be dated otherwise."
    words = "1 ticket waits" if count == 1 else f"{count} tickets wait"
    return f"{words} for a review; no date is rewritten."
