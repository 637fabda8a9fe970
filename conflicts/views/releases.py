"""May this bore be drilled? Signing a release, reading one, and taking it back."""

from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from conflicts.bore_states import BoreState, computed_states
from conflicts.checks import Assessed, release_checks
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.drilled_stops import drilled_stops
from conflicts.engine.errors import EngineError
from conflicts.forms.signing import ReleaseForm, WithdrawalForm, crews_and_rigs
from conflicts.models import Bore, CloseOut, DamageReport, Release, ReleaseWithdrawal
from conflicts.next_crossing import next_crossing
from conflicts.release import grounds_of, sign_release, standing_of
from conflicts.views.access import bore_or_404
from conflicts.views.signed_forms import is_sent_whole, new_id, signs
from conflicts.watch_table import WatchTable, stop_words, watch_table
from locates.forms.permission import ask_to_write
from locates.models import LedgerEntry

may_view = permission_required(("conflicts.view_bore", "conflicts.view_release"), raise_exception=True)
get_or_post = require_http_methods(["GET", "HEAD", "POST"])
# A common working day; the person changes it.
SHIFT = timedelta(hours=10)


@may_view
@never_cache
@get_or_post
def sign(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show what holds a bore, or the form that releases it; and sign it."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, Release, "add")
    key = new_id(request, Release, bore=bore)
    there = Release.objects.filter(pk=key, bore=bore).first()
    if there is not None:
        return redirect("conflicts:release", there.pk)
    unanswered = _unanswered(bore)
    form = _release_form(request, bore, key, asks_of_damage=bool(unanswered))
    shown = request.POST.get("shown", "").strip()
    is_sent = is_sent_whole(request, form, field="shown", shown=shown)
    if is_sent and signs(form, lambda: sign_release(form.instance, by=request.user, shown_digest=shown)):
        messages.success(request, f"Signed: {bore.name} may be drilled by {form.instance.crew}.")
        return redirect("conflicts:release", form.instance.pk)
    return _show_form(request, bore, form, new_id=key, unanswered=unanswered)


def _unanswered(bore: Bore) -> list[DamageReport]:
    """The reports of damage of which no release says yet what was settled."""
    reports = {str(one.pk): one for one in DamageReport.objects.of_bores([bore])}
    return [reports[key] for key in Release.objects.open_damage(bore, list(reports))]


def _release_form(request: HttpRequest, bore: Bore, key: UUID, *, asks_of_damage: bool) -> ReleaseForm:
    job, now = bore.job, timezone.now()
    asked: dict[str, Any] = {"job": job, "request": request, "asks_of_damage": asks_of_damage}
    if request.method == "POST":
        return ReleaseForm(request.POST, instance=Release(pk=key, bore=bore), **asked)
    crews, rigs = crews_and_rigs(bore)
    initial = {
        "shift_from": now,
        "shift_until": now + SHIFT,
        "crew": crews[0] if crews else "",
        "rig": rigs[0] if rigs else "",
    }
    return ReleaseForm(initial=initial, **asked)


def _show_form(request: HttpRequest, bore: Bore, form: ReleaseForm, **shown: Any) -> HttpResponse:
    at = timezone.now()
    try:
        grounds, refusal = grounds_of(bore, at), ""
    except EngineError as error:
        grounds, refusal = None, str(error)
    close_out = CloseOut.objects.filter(bore=bore).first()
    context = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "form": form,
        "grounds": grounds,
        "refusal": refusal,
        "document": None if grounds is None else grounds.document,
        "next_crossing": None if grounds is None else next_crossing(grounds.document, grounds.assessed),
        "stops": () if grounds is None else _stops(grounds.assessed),
        "crews_and_rigs": crews_and_rigs(bore),
        "close_out": close_out,
        "table": None if grounds is None else _since(grounds.assessed, bore, close_out),
        "damage_reports": DamageReport.objects.of_bores([bore]),
        "at": at,
        **shown,
    }
    return render(request, "conflicts/release_sign.html", context)


@may_view
@never_cache
@get_or_post
def release(request: HttpRequest, release_id: UUID) -> HttpResponse:
    """Show a release and whether it holds now, computed as it is asked; and take it back."""
    found = get_object_or_404(Release.objects.with_course(), pk=release_id)
    key = new_id(request, ReleaseWithdrawal, release=found)
    form = WithdrawalForm(
        request.POST or None,
        instance=ReleaseWithdrawal(pk=key, release_id=found.pk),
        job=found.bore.job,
        request=request,
    )
    if request.method == "POST":
        ask_to_write(request, ReleaseWithdrawal, "add")
        if form.is_valid() and signs(form, lambda: withdraw_release(form.instance, by=request.user)):
            messages.success(request, f"Taken back: the release of {found.bore.name}.")
            return redirect("conflicts:release", found.pk)
    entry = LedgerEntry.objects.filter(kind=Release.LEDGER_KIND, record_id=found.pk).first()
    reports = DamageReport.objects.of_bores([found.bore])
    at, close_out = timezone.now(), CloseOut.objects.filter(bore=found.bore).first()
    [state] = computed_states([found.bore], at)
    context = {
        "section": "jobs",
        "release": found,
        "bore": found.bore,
        "job": found.bore.job,
        "standing": standing_of(found),
        "close_out": close_out,
        "table": None if state.assessed is None else _since(state.assessed, found.bore, close_out),
        "not_excused": [] if close_out or found.shift_until <= at else _not_excused(state),
        "drilled": None if state.assessed is None else state.assessed.drilled,
        "entry": entry,
        "damage_reports": reports,
        "answered": [one for one in reports if str(one.pk) in (found.damage_answered or ())],
        "form": form,
        "new_id": uuid4() if request.method != "POST" else key,
        "at": at,
    }
    return render(request, "conflicts/release.html", context)


def _stops(assessed: Assessed) -> tuple[str, ...]:
    """What stops the crew, set off by watches and by the rods in the ground."""
    return (*stop_words(assessed), *drilled_stops(assessed, assessed.site.log))


def _since(assessed: Assessed, bore: Bore, close_out: CloseOut | None) -> WatchTable | None:
    """What was found and logged since a bore was closed out; None of one that is not."""
    return None if close_out is None else watch_table(assessed, bore.pilot_diameter_m)


def _not_excused(state: BoreState) -> list[str]:
    """What holds a bore though a variance was signed for it, with why: a release that rested on it lapsed."""
    checks = [] if state.assessed is None else release_checks(state.assessed)
    return [check.sentence for check in checks if check.not_excused]


@may_view
@never_cache
@require_safe
def standing(request: HttpRequest, release_id: UUID) -> JsonResponse:
    """Tell a program whether a release holds now, and why not; computed as it is asked."""
    found = get_object_or_404(Release.objects.with_course(), pk=release_id)
    now = standing_of(found)
    return JsonResponse(
        {
            "release": str(found.pk),
            "bore": found.bore.name,
            "state": str(now.state),
            "in_force": now.is_in_force,
            "reasons": list(now.reasons),
            "lapses_at": None if now.lapses_at is None else now.lapses_at.isoformat(),
        }
    )
