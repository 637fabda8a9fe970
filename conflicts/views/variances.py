"""Variances: those of a bore, asking for one, signing it, ending it."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from conflicts.desk.variance import end_variance, request_variance, sign_variance
from conflicts.desk.variance_subject import subject_now, subjects_now
from conflicts.forms.signing import VarianceEndForm, VarianceForm, VarianceSignatureForm
from conflicts.models import Variance, VarianceEnd, VarianceSignature
from conflicts.site_records import DAY
from conflicts.variance_words import bound_words
from conflicts.views.access import bore_or_404
from conflicts.views.evidence_shown import evidence_shown
from conflicts.views.figureless import figureless
from conflicts.views.signed_forms import is_sent_whole, new_id, signs, state_of_form
from locates.forms.permission import ask_to_write

may_view = permission_required(("conflicts.view_bore", "conflicts.view_variance"), raise_exception=True)
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@may_view
@never_cache
@require_safe
def variances(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """List what was asked to be excused of a bore, and what became of it."""
    bore = bore_or_404(bore_id)
    listed = list(Variance.objects.filter(bore=bore).with_course())
    at = timezone.now()
    if listed:
        for one, now in zip(listed, subjects_now(bore, listed, at), strict=True):
            one.why_not = now.why_not
    context = {"section": "jobs", "bore": bore, "job": bore.job, "variances": listed, "at": at}
    return render(request, "conflicts/variances.html", context)


@may_view
@never_cache
@get_or_post
def ask(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Ask for a variance."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, Variance, "add")
    key = new_id(request, Variance, bore=bore)
    there = Variance.objects.filter(pk=key, bore=bore).first()
    if there is not None:
        return redirect("conflicts:variance", there.pk)
    at = timezone.now()
    state = state_of_form(bore, at)
    if state.assessed is None:
        return figureless(request, state, at)
    context = {"section": "jobs", "bore": bore, "job": bore.job, "state": state, "at": at}
    form = VarianceForm(
        request.POST if request.method == "POST" else None,
        request.FILES or None,
        instance=Variance(pk=key, bore=bore),
        initial={"what": request.GET.get("what", "")},
        job=bore.job,
        assessed=state.assessed,
    )
    is_sent = is_sent_whole(request, form, field="shown", shown=request.POST.get("shown", "").strip())
    if is_sent and signs(
        form,
        lambda: request_variance(
            form.instance,
            by=request.user,
            keep_evidence=lambda record: form.keep_evidence(record, by=request.user),
        ),
    ):
        messages.success(request, "Asked for. It excuses nothing until a safety manager has signed it.")
        return redirect("conflicts:variance", form.instance.pk)
    return render(request, "conflicts/variance_ask.html", {**context, "form": form, "new_id": key})


@may_view
@never_cache
@get_or_post
def variance(request: HttpRequest, variance_id: UUID) -> HttpResponse:
    """Show a variance and its course; sign it or end it."""
    found = get_object_or_404(Variance.objects.with_course(), pk=variance_id)
    doing = request.POST.get("do", "")
    sign_form, end_form = _forms(request, found, doing)
    if doing == "sign":
        ask_to_write(request, VarianceSignature, "add")
        if sign_form.is_valid() and signs(
            sign_form,
            lambda: sign_variance(
                sign_form.instance,
                by=request.user,
                shown=request.POST.get("shown", ""),
                shown_evidence=request.POST.get("shown_evidence", ""),
            ),
        ):
            messages.success(request, f"Signed. A release of {found.bore.name} signed before it has lapsed.")
            return redirect("conflicts:variance", found.pk)
    elif request.method == "POST":
        ask_to_write(request, VarianceEnd, "add")
        if end_form.is_valid() and signs(end_form, lambda: end_variance(end_form.instance, by=request.user)):
            was_signed = hasattr(found, "signature")
            messages.success(
                request,
                "Ended: it excuses nothing any more." if was_signed else "Refused: it excuses nothing.",
            )
            return redirect("conflicts:variance", found.pk)
    at = timezone.now()
    now = subject_now(found, at)
    shown = evidence_shown(found)
    sign_form.asks(of_day=found.check_code == DAY, of_evidence=not shown["evidence"].covered)
    context = {
        "section": "jobs",
        "variance": found,
        "now": now,
        **shown,
        "would_bind": bound_words(found.subject, now.facts, found.pass_made, found.bore.job.show_units),
        "bore": found.bore,
        "job": found.bore.job,
        "signature": getattr(found, "signature", None),
        "end": getattr(found, "end", None),
        "is_own": found.requested_by_id == request.user.pk,
        "sign_form": sign_form,
        "end_form": end_form,
        "new_id": new_id(request, VarianceSignature, variance=found) if request.method == "POST" else uuid4(),
        "at": at,
    }
    return render(request, "conflicts/variance.html", context)


def _forms(
    request: HttpRequest, found: Variance, doing: str
) -> tuple[VarianceSignatureForm, VarianceEndForm]:
    shared = {"job": found.bore.job, "request": request}
    sign_form = VarianceSignatureForm(
        request.POST if doing == "sign" else None,
        instance=VarianceSignature(
            pk=new_id(request, VarianceSignature, variance=found), variance_id=found.pk
        ),
        prefix="sign",
        **shared,
    )
    end_form = VarianceEndForm(
        request.POST if request.method == "POST" and doing != "sign" else None,
        instance=VarianceEnd(pk=new_id(request, VarianceEnd, variance=found), variance_id=found.pk),
        prefix="end",
        **shared,
    )
    return sign_form, end_form
