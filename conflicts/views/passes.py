"""The passes of a hole after its pilot, at the rig: reamers, the pullback, entries that were wrong."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from conflicts.bore_states import BoreState
from conflicts.desk.log_pass import log_pass, withdraw_pass
from conflicts.desk.log_rod import scene_of
from conflicts.drill_answer import drill_answer
from conflicts.engine.errors import EngineError
from conflicts.errors import PassAskedError, PassError
from conflicts.forms.passes import SIZE_UNITS, PassForm, PullbackPassForm, ReamingForm, WithdrawPassForm
from conflicts.gather_passes import gather_passes
from conflicts.models import Bore, HolePass, HolePassWithdrawal
from conflicts.passes_sheet import passes_sheet
from conflicts.stop_rules import RULE_OF, StopCode
from conflicts.unreleased import unreleased_passes
from conflicts.views.access import bore_or_404
from conflicts.views.figureless import figureless
from conflicts.views.signed_forms import new_id, signs
from conflicts.watch_table import watch_table
from locates.errors import RetiredMeanwhileError
from locates.forms.permission import ask_to_write

may_view = permission_required(("conflicts.view_bore", "conflicts.view_holepass"), raise_exception=True)
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@may_view
@never_cache
@get_or_post
def passes(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show how wide the hole is and the passes that made it so, or log one of a reamer."""
    return _show_or_log(request, bore_id, ReamingForm, "conflicts/passes.html")


@may_view
@never_cache
@get_or_post
def pullback(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Log the conduits that were pulled in."""
    ask_to_write(request, HolePass, "add")
    return _show_or_log(request, bore_id, PullbackPassForm, "conflicts/passes_pullback.html")


def _show_or_log(
    request: HttpRequest, bore_id: UUID, kind: type[ReamingForm | PullbackPassForm], template: str
) -> HttpResponse:
    bore = bore_or_404(bore_id)
    key, asked = uuid4(), None
    initial = {"size_unit": SIZE_UNITS[bore.job.show_units][0][0]}
    form: PassForm = kind(initial=initial, bore=bore)
    if request.method == "POST":
        ask_to_write(request, HolePass, "add")
        key = new_id(request, HolePass, bore=bore)
        there = HolePass.objects.filter(pk=key, bore=bore).first()
        if there is not None:
            return _logged(request, there)
        form = kind(request.POST, bore=bore)
        if form.is_valid():
            moments = {name: form.cleaned_data[name] for name in ("made_at", "ended_at")}
            entry, confirmed = form.hole_pass(id=key), request.POST.get("confirmed", "").split()
            try:
                return _logged(request, log_pass(entry, by=request.user, confirmed=confirmed, **moments))
            except PassAskedError as error:
                asked = error
            except (PassError, EngineError, RetiredMeanwhileError) as error:
                form.add_error(None, f"{str(error).rstrip('.')}.")
    return _page(request, template, bore, form=form, new_id=key, asked=asked)


def _logged(request: HttpRequest, hole_pass: HolePass) -> HttpResponse:
    messages.success(request, f"Logged: {hole_pass}.")
    return redirect("conflicts:passes", hole_pass.bore_id)


def _page(request: HttpRequest, template: str, bore: Bore, **shown: Any) -> HttpResponse:
    try:
        computed = scene_of(bore)
    except EngineError as error:
        return figureless(request, BoreState(bore, refusal=str(error)), timezone.now())
    assessed = computed.at(timezone.now())
    table = watch_table(assessed, bore.pilot_diameter_m)
    answer = drill_answer(bore, table, assessed)
    sheet = passes_sheet(computed.scene, computed.crossings)
    unreleased = unreleased_passes(bore, sheet.log)
    context = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "sheet": sheet,
        "logged": [(one, unreleased.get(one.pass_id, "")) for one in sheet.passes],
        "close_out": answer.close_out,
        "answer": answer,
        "no_release": RULE_OF[StopCode.NO_RELEASE],
        "table": table,
        **shown,
    }
    return render(request, template, context)


@may_view
@never_cache
@get_or_post
def withdraw(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Take a pass out of the log that was entered wrongly; it stays on record as withdrawn."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, HolePassWithdrawal, "add")
    entry = HolePass.objects.filter(pk=_uuid(request), bore=bore).select_related("bore__job").first()
    key = uuid4() if entry is None else new_id(request, HolePassWithdrawal, hole_pass=entry)
    withdrawal = HolePassWithdrawal(pk=key, hole_pass=entry)
    if entry is not None and HolePassWithdrawal.objects.filter(pk=key, hole_pass=entry).exists():
        return redirect("conflicts:passes", bore.pk)
    form = WithdrawPassForm(
        request.POST or None,
        instance=withdrawal,
        job=bore.job,
        passes=gather_passes([bore])[bore.pk].passes,
        initial={"which": request.GET.get("which", "")},
    )
    is_sent = request.method == "POST" and form.is_valid()
    if is_sent and signs(form, lambda: withdraw_pass(withdrawal, by=request.user)):
        messages.success(request, f"Withdrawn: the {entry}. It stays on record as entered wrongly.")
        return redirect("conflicts:passes", bore.pk)
    context = {"section": "jobs", "bore": bore, "job": bore.job, "form": form, "new_id": key}
    return render(request, "conflicts/passes_withdraw.html", context)


def _uuid(request: HttpRequest) -> UUID | None:
    try:
        return UUID(request.POST.get("which", ""))
    except ValueError:
        return None
