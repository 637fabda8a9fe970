"""The watch of the crossings: the table of a bore, one watch, a camera inspection, the close-out."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from conflicts.checks import Assessed
from conflicts.closing_faults import close_out_faults
from conflicts.closing_sheet import closing_sheet
from conflicts.desk.close_out import close_out as sign_close_out
from conflicts.desk.record_watch import of_crossing, record_camera, record_watch
from conflicts.desk.watch_records import cameras_of
from conflicts.drill_answer import drill_answer
from conflicts.errors import AskedError
from conflicts.forms.watching import CameraForm, CloseOutForm, WatchForm
from conflicts.models import Bore, CameraInspection, CloseOut, CrossingWatch, PassMade
from conflicts.stop_rules import RULE_OF, STOP_RULES, StopCode, bottom_is_unknown
from conflicts.to_watch import crossings_to_watch, place_of_watch, same_place_m
from conflicts.unreleased import unreleased_words
from conflicts.views.access import bore_or_404
from conflicts.views.figureless import figureless
from conflicts.views.signed_forms import is_sent_whole, new_id, signs, state_of_form
from conflicts.watch_matching import CrossingPlace
from conflicts.watch_table import CrossingWatched, watch_table
from conflicts.watched_before_log import before_log_words
from locates.forms.permission import ask_to_write

may_view = permission_required(("conflicts.view_bore", "conflicts.view_crossingwatch"), raise_exception=True)
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def _shown(request: HttpRequest) -> CrossingPlace | None:
    """The crossing that the form was shown for, however the crossings are counted now."""
    try:
        mark_id, kind, station_m = request.POST.get("crossing", "").split()
        return CrossingPlace(str(UUID(mark_id)), kind, float(station_m))
    except ValueError:
        return None


def _row(
    bore: Bore, assessed: Assessed, sequence: int, shown: CrossingPlace | None
) -> CrossingWatched | None:
    """The crossing of a form, or the one at a place among those to watch; None where that is lost."""
    rows = watch_table(assessed, bore.pilot_diameter_m).rows
    if shown is not None:
        place = place_of_watch(shown, [row.lies for row in rows], same_place_m(assessed))
        return None if place is None else rows[place]
    if sequence >= len(rows) or not rows[sequence].lies.mark_id:
        raise Http404("No crossing to watch has that place.")
    return rows[sequence]


@may_view
@never_cache
@require_safe
def watches(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show every crossing by every pass, what stops the crew first."""
    bore = bore_or_404(bore_id)
    at = timezone.now()
    state = state_of_form(bore, at)
    if state.assessed is None:
        return figureless(request, state, at)
    table = watch_table(state.assessed, bore.pilot_diameter_m)
    answer = drill_answer(bore, table, state.assessed)
    context = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "table": table,
        "rules": STOP_RULES,
        "answer": answer,
        "no_release": RULE_OF[StopCode.NO_RELEASE],
        "close_out": answer.close_out,
        "cameras": cameras_of(bore),
        "at": at,
    }
    return render(request, "conflicts/watches.html", context)


@may_view
@never_cache
@get_or_post
def watch(request: HttpRequest, bore_id: UUID, sequence: int, pass_made: str) -> HttpResponse:
    """Enter one watch: seen or not, and the gap."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, CrossingWatch, "add")
    if pass_made not in PassMade.values:
        raise Http404("There is no such pass.")
    at = timezone.now()
    state = state_of_form(bore, at)
    if state.assessed is None:
        return figureless(request, state, at)
    shown, key = _shown(request), new_id(request, CrossingWatch, bore=bore)
    if CrossingWatch.objects.filter(pk=key, bore=bore).exists():
        return redirect("conflicts:watches", bore.pk)
    row = _row(bore, state.assessed, sequence, shown)
    filled = CrossingWatch(pk=key, bore=bore, pass_made=pass_made)
    if row is not None:
        of_crossing(filled, row.lies)
    elif shown is not None:
        filled.mark_id, filled.kind, filled.station_m = UUID(shown.mark_id), shown.kind, shown.station_m
    data = request.POST if request.method == "POST" else None
    form = WatchForm(data, request.FILES or None, instance=filled, job=bore.job)
    is_sent = is_sent_whole(request, form, field="crossing", shown=shown)
    asked: AskedError | None = None
    try:
        if is_sent and signs(form, lambda: _record(request, form)):
            messages.success(request, f"Signed: {form.instance.mark.ref}, {PassMade(pass_made).label}.")
            return redirect("conflicts:watches", bore.pk)
    except AskedError as error:
        asked = error
    context = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "row": row,
        "passed": None if row is None else row.passed(pass_made),
        "sequence": sequence,
        "shown": f"{filled.mark_id} {filled.kind} {filled.station_m!r}",
        "pass_made": PassMade(pass_made),
        "form": form,
        "asked": asked,
        "new_id": key,
        "hole_bottom_m": filled.hole_bottom_m,
        "required_m": filled.required_m,
    }
    return render(request, "conflicts/watch.html", context)


def _record(request: HttpRequest, form: WatchForm) -> None:
    stored = record_watch(
        form.instance,
        by=request.user,
        keep_photos=lambda record: form.keep_photos(record, by=request.user),
        confirmed=request.POST.get("confirmed", "").split(),
    )
    if bottom_is_unknown(stored):
        messages.warning(
            request,
            "Nobody recorded how deep the hole is, so the depth that was read is held against nothing and "
            "the pass is not settled: record how deep the hole is and see it pass again, or have it excused.",
        )


@may_view
@never_cache
@get_or_post
def camera(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Record a camera inspection of a line that the bore meets."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, CameraInspection, "add")
    at = timezone.now()
    state, key = state_of_form(bore, at), new_id(request, CameraInspection, bore=bore)
    if state.assessed is None:
        return figureless(request, state, at)
    if CameraInspection.objects.filter(pk=key, bore=bore).exists():
        return redirect("conflicts:watches", bore.pk)
    form = CameraForm(
        request.POST or None,
        request.FILES or None,
        instance=CameraInspection(pk=key, bore=bore),
        job=bore.job,
        marks=[one.mark_id for one in crossings_to_watch(state.assessed) if one.mark_id],
    )
    is_sent = request.method == "POST" and form.is_valid()
    if is_sent and signs(
        form,
        lambda: record_camera(
            form.instance,
            by=request.user,
            keep_photos=lambda record: form.keep_photos(record, by=request.user),
        ),
    ):
        messages.success(request, f"Signed: the camera inspection of {form.instance.mark.ref}.")
        return redirect("conflicts:watches", bore.pk)
    context = {"section": "jobs", "bore": bore, "job": bore.job, "form": form, "new_id": key}
    return render(request, "conflicts/camera.html", context)


@may_view
@never_cache
@get_or_post
def close_out(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show what is missing before a bore is closed out, and sign the close-out."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, CloseOut, "add")
    at = timezone.now()
    state = state_of_form(bore, at)
    if state.assessed is None:
        return figureless(request, state, at)
    form = CloseOutForm(
        request.POST or None,
        instance=CloseOut(pk=new_id(request, CloseOut, bore=bore), bore_id=bore.pk),
        job=bore.job,
        request=request,
    )
    is_sent = request.method == "POST" and form.is_valid()
    if is_sent and signs(form, lambda: sign_close_out(form.instance, by=request.user)):
        messages.success(request, f"Closed out: {bore.name}.")
        return redirect("conflicts:bore", bore.pk)
    table = watch_table(state.assessed, bore.pilot_diameter_m)
    context = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "table": table,
        "missing": close_out_faults(table, state.assessed),
        "closing": closing_sheet(table, state.assessed),
        "told": [*unreleased_words(bore, state.assessed.site), *before_log_words(table, state.assessed)],
        "there": CloseOut.objects.filter(bore=bore).first(),
        "form": form,
        "new_id": uuid4() if request.method != "POST" else form.instance.pk,
        "at": at,
    }
    return render(request, "conflicts/close_out.html", context)
