"""The one-call rules that jobs stand under: as shipped, and a company's own versions."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from locates.desk.date_ticket import clock_in_words
from locates.desk.own_rule import keep_own_rule, return_to_shipped
from locates.errors import ChangedMeanwhileError
from locates.forms.own_rule import OwnRuleForm
from locates.forms.permission import ask_for_company, ask_to_write, company_of
from locates.models import Job, JurisdictionRule, Organisation
from locates.models.centre_day import own_days

MOST_JOBS = 12  # named on a rule's page
NOT_COPIED = ("id", "version", "organisation", "retired_at", "retired_by", "checked_on", "certainty")
"""What an own version never takes over: whose it is, and who has checked it when."""

may_view = permission_required("locates.view_jurisdictionrule", raise_exception=True)


@may_view
@never_cache
@require_safe
def rules(request: HttpRequest) -> HttpResponse:
    """List the rule of each jurisdiction that the company goes by."""
    in_use = JurisdictionRule.objects.in_use_by(_key(company_of(request))).order_by("code")
    return render(request, "locates/rules.html", {"section": "rules", "rules": in_use})


@may_view
@never_cache
@require_safe
def rule(request: HttpRequest, rule_id: UUID) -> HttpResponse:
    """Show one version of a rule in full, with where it was read, how sure that is, and whether it counts."""
    company = company_of(request)
    found = get_object_or_404(JurisdictionRule.objects.known_to(_key(company)), id=rule_id)
    known = JurisdictionRule.objects.known_to(_key(company)).filter(code=found.code)
    shipped = known.filter(organisation=None).order_by("-version").first()
    in_use = known.of_place(found.code, _key(company)).first()
    jobs = Job.objects.under(found).seen_by(request.user.pk)
    context = {
        "section": "rules",
        "rule": found,
        "clock": clock_in_words(found),
        "days": own_days(found.code, _key(company)),
        "company": company,
        "in_use": in_use,
        "shipped": shipped,
        "other_versions": known.exclude(pk=found.pk).order_by("organisation", "-version"),
        "jobs": jobs[:MOST_JOBS],
        "jobs_left_out": max(0, jobs.count() - MOST_JOBS),
        "is_overtaken": _is_overtaken(found, in_use, shipped),
    }
    return render(request, "locates/rule.html", context)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def own_rule(request: HttpRequest, code: str) -> HttpResponse:
    """Make the company's own version of a rule, from the one that it goes by now."""
    ask_to_write(request, JurisdictionRule, "add")
    company = ask_for_company(request)
    in_use = _in_use(code, company)
    key = _sent_key(request, company)
    form = OwnRuleForm(request.POST or None, instance=_own_version_of(in_use, company, key))
    if request.method == "POST" and form.is_valid():
        try:
            kept = keep_own_rule(form.instance, by=request.user, shown_id=_shown(request))
        except ChangedMeanwhileError as error:
            form.add_error(None, f"{_unseen(error)} Saved again, yours counts instead.")
        else:
            messages.success(request, f"Saved: {kept}. Your company alone goes by it from now on.")
            return redirect("locates:rule", kept.pk)
    context = {"section": "rules", "form": form, "rule": in_use, "company": company, "new_id": key}
    return render(request, "locates/rule_own.html", context)


@require_POST
def shipped_rule(request: HttpRequest, code: str) -> HttpResponse:
    """Have the company go by the shipped rule again; its own versions stay to be read."""
    ask_to_write(request, JurisdictionRule)
    company = ask_for_company(request)
    in_use = _in_use(code, company)
    if not JurisdictionRule.objects.filter(organisation=None, code=code).exists():
        raise Http404("No rule of that place is shipped.")
    try:
        shipped = return_to_shipped(code, company.pk, by=request.user, shown_id=_shown(request))
    except ChangedMeanwhileError as error:
        messages.error(request, f"Nothing is changed. {_unseen(error)}")
        return redirect("locates:rule", in_use.pk)
    messages.success(request, f"Your company goes by the shipped rule again: {shipped}.")
    return redirect("locates:rule", shipped.pk)


def _key(company: Organisation | None) -> UUID | None:
    return None if company is None else company.pk


def _in_use(code: str, company: Organisation) -> JurisdictionRule:
    return get_object_or_404(JurisdictionRule.objects.in_use_by(company.pk), code=code)


def _own_version_of(rule: JurisdictionRule, company: Organisation, key: UUID) -> JurisdictionRule:
    """A copy that is not stored: the company's own, which somebody has yet to hold against the law."""
    copied = {
        field.attname: getattr(rule, field.attname)
        for field in JurisdictionRule._meta.concrete_fields
        if field.name not in NOT_COPIED
    }
    return JurisdictionRule(id=key, organisation=company, **copied)


def _sent_key(request: HttpRequest, company: Organisation) -> UUID:
    """The id that the form was shown with; another where that is taken elsewhere."""
    try:
        sent = UUID(request.POST.get("new_id", ""))
    except ValueError:
        return uuid4()
    taken = JurisdictionRule.objects.filter(pk=sent).exclude(organisation=company)
    return uuid4() if taken.exists() else sent


def _shown(request: HttpRequest) -> UUID | None:
    try:
        return UUID(request.POST.get("shown", ""))
    except ValueError:
        return None


def _unseen(error: ChangedMeanwhileError) -> str:
    return f"The page does not show what counts now, which is {error.present}: look at that first."


def _is_overtaken(
    found: JurisdictionRule, in_use: JurisdictionRule | None, shipped: JurisdictionRule | None
) -> bool:
    """Whether a company goes by its own version though the shipped one was checked after it."""
    return found == in_use and shipped not in (None, found) and shipped.checked_on > found.checked_on
