"""The one-call rules that jobs stand under, as they were read."""

from uuid import UUID

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from locates.desk.date_ticket import clock_in_words
from locates.models import JurisdictionRule

may_view = permission_required("locates.view_jurisdictionrule", raise_exception=True)


@may_view
@require_safe
def rules(request: HttpRequest) -> HttpResponse:
    """List the newest version of every jurisdiction's rule."""
    newest = JurisdictionRule.objects.newest().order_by("code")
    return render(request, "locates/rules.html", {"section": "rules", "rules": newest})


@may_view
@require_safe
def rule(request: HttpRequest, rule_id: UUID) -> HttpResponse:
    """Show one version of a rule in full, with where it was read and how sure that is."""
    found = get_object_or_404(JurisdictionRule, id=rule_id)
    return render(
        request,
        "locates/rule.html",
        {"section": "rules", "rule": found, "clock": clock_in_words(found), "days": found.own_days},
    )
