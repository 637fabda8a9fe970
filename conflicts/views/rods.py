"""The rods of a bore, at the rig: logging one, taking rods back, checking the locating device."""

from dataclasses import replace
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from conflicts.ahead_sheet import AheadRow, AheadSheet, ahead_sheet
from conflicts.ahead_stops import HOLE_NOT_CLEAR, WATCH_STOPPED
from conflicts.bore_states import BoreState
from conflicts.checks import Assessed
from conflicts.crossings import FoundCrossing
from conflicts.desk.log_rod import check_locator, log_of, log_rod, scene_of, withdraw_rods
from conflicts.drawing.profile import draw_profile
from conflicts.drill_answer import drill_answer
from conflicts.engine.errors import EngineError
from conflicts.errors import RodAskedError, RodPlaceError
from conflicts.forms.rods import LocatorCheckForm, PullBackForm, RodForm, next_rod
from conflicts.gather_rods import gather_rods
from conflicts.models import Bore, DrilledRod, LocatorCheck, RodWithdrawal, WithdrawalKind
from conflicts.rods_sheet import RodsSheet, rods_sheet
from conflicts.stop_rules import RULE_OF, StopCode
from conflicts.views.access import bore_or_404
from conflicts.views.facility_words import FACILITY_WORDS
from conflicts.views.figureless import figureless
from conflicts.views.signed_forms import new_id, signs
from conflicts.watch_table import watch_table
from locates.errors import RetiredMeanwhileError
from locates.forms.permission import ask_to_write

# Stops of the look-ahead that this page tells of with their figures.
TOLD_HERE = (HOLE_NOT_CLEAR, WATCH_STOPPED)
# Where the login keeps the unit in which its last rod was read.
DEPTH_UNIT = "rod_depth_unit"

may_view = permission_required(("conflicts.view_bore", "conflicts.view_drilledrod"), raise_exception=True)
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@may_view
@never_cache
@get_or_post
def rods(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show the rods of a bore beside the plan, or log the next one."""
    bore = bore_or_404(bore_id)
    if request.method == "POST":
        ask_to_write(request, DrilledRod, "add")
        return _log(request, bore)
    last = gather_rods([bore])[bore.pk].last
    begins = next_rod(bore, last, depth_unit=request.session.get(DEPTH_UNIT, ""))
    return _page(request, bore, RodForm(initial=begins, bore=bore), uuid4())


def _log(request: HttpRequest, bore: Bore) -> HttpResponse:
    key = new_id(request, DrilledRod, bore=bore)
    there = DrilledRod.objects.filter(pk=key, bore=bore).first()
    if there is not None:
        return _logged(request, there)
    form = RodForm(request.POST, bore=bore)
    asked: RodAskedError | None = None
    if form.is_valid():
        rod = form.rod(id=key, after_id=_uuid(request.POST.get("after", "")))
        try:
            logged = log_rod(rod, by=request.user, confirmed=request.POST.get("confirmed", "").split())
            request.session[DEPTH_UNIT] = form.cleaned_data["depth_unit"]
            return _logged(request, logged)
        except RodAskedError as error:
            asked = error
        except (RodPlaceError, EngineError, RetiredMeanwhileError) as error:
            form.add_error(None, f"{str(error).rstrip('.')}.")
    return _page(request, bore, form, key, asked)


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def _logged(request: HttpRequest, rod: DrilledRod) -> HttpResponse:
    messages.success(request, f"Logged: rod {rod.number}.")
    return redirect("conflicts:rods", rod.bore_id)


def _page(
    request: HttpRequest, bore: Bore, form: RodForm, key: UUID, asked: RodAskedError | None = None
) -> HttpResponse:
    at = timezone.now()
    try:
        computed = scene_of(bore)
        assessed = computed.at(at)
        sheet = rods_sheet(assessed, log_of(bore, computed))
    except EngineError as error:
        return figureless(request, BoreState(bore, refusal=str(error)), at)
    table = watch_table(assessed, bore.pilot_diameter_m)
    answer = drill_answer(bore, table, assessed)
    ahead = None if answer.close_out else _ahead(assessed, sheet)
    drawn = draw_profile(computed.scene, computed.crossings, FACILITY_WORDS, drilled=sheet.beside.paths)
    context = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "form": form,
        "new_id": key,
        "asked": asked,
        "sheet": sheet,
        "beside": sheet.beside,
        "table": table,
        "answer": answer,
        "ahead": ahead,
        "lines_ahead": _lines_ahead(assessed, sheet, ahead),
        "no_release": RULE_OF[StopCode.NO_RELEASE],
        "profile": drawn,
        # Markup of ours, in which every text of a record is escaped.
        "profile_svg": mark_safe(drawn.svg),  # noqa: S308
        "profile_axis_svg": mark_safe(drawn.axis_svg),  # noqa: S308
        "undo_id": uuid4(),
        "at": at,
    }
    return render(request, "conflicts/rods.html", context)


def _ahead(assessed: Assessed, sheet: RodsSheet) -> AheadSheet | None:
    """What the look-ahead says after the last rod, but for what the page says itself and in more words."""
    if sheet.drilled is None:
        return None
    found = ahead_sheet(assessed, sheet.log, release_words=None)
    return replace(found, stops=tuple(stop for stop in found.stops if stop.when not in TOLD_HERE))


def _lines_ahead(
    assessed: Assessed, sheet: RodsSheet, ahead: AheadSheet | None
) -> list[tuple[FoundCrossing, AheadRow | None]]:
    """The plan's crossings ahead, each with what lies in store for the head there where that is known."""
    # A line that is met twice near one place of the plan: the row that stops the crew is the one told.
    found = () if ahead is None else sorted(ahead.rows, key=lambda row: row.is_stopped)
    told = {row.place: row for row in found}
    rows = {id(one): told.get(place) for place, one in enumerate(assessed.crossings)}
    return [(one, rows[id(one)]) for one in sheet.ahead]


@may_view
@never_cache
@require_POST
def undo(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Take the last entry back: it was never so."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, RodWithdrawal, "add")
    rod = DrilledRod.objects.filter(pk=_uuid(request.POST.get("rod", "")), bore=bore).first()
    if rod is None:
        messages.error(request, "Nothing is taken back: the page named no rod of this bore.")
        return redirect("conflicts:rods", bore.pk)
    key = new_id(request, RodWithdrawal, rod=rod)
    try:
        withdraw_rods(RodWithdrawal(pk=key, rod=rod, kind=WithdrawalKind.UNDO), by=request.user)
        messages.success(request, f"Taken back: the entry of rod {rod.number}. It stays on record as undone.")
    except (RodPlaceError, RetiredMeanwhileError) as error:
        messages.error(request, f"{str(error).rstrip('.')}.")
    return redirect("conflicts:rods", bore.pk)


@may_view
@never_cache
@get_or_post
def pull_back(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Pull rods back, with the reason; they stay on record as an abandoned leg."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, RodWithdrawal, "add")
    log = gather_rods([bore])[bore.pk]
    rod = DrilledRod.objects.filter(pk=_uuid(request.POST.get("back_to", "")), bore=bore).first()
    key = uuid4() if rod is None else new_id(request, RodWithdrawal, rod=rod)
    if rod is not None and RodWithdrawal.objects.filter(pk=key, rod=rod).exists():
        return redirect("conflicts:rods", bore.pk)
    form = PullBackForm(
        request.POST or None,
        instance=RodWithdrawal(pk=key, rod=rod, kind=WithdrawalKind.PULL_BACK),
        job=bore.job,
        rods=log.rods,
    )
    if request.method == "POST" and form.is_valid() and signs(form, lambda: _pull(request, form)):
        return redirect("conflicts:rods", bore.pk)
    context = {"section": "jobs", "bore": bore, "job": bore.job, "form": form, "new_id": key, "log": log}
    return render(request, "conflicts/rods_pull_back.html", context)


def _pull(request: HttpRequest, form: PullBackForm) -> None:
    stored = withdraw_rods(form.instance, by=request.user)
    messages.success(
        request,
        f"Pulled back: rods from {stored.rod.number} on stay on record as an abandoned leg. "
        f"The next is rod {stored.rod.number} again.",
    )


@may_view
@never_cache
@get_or_post
def locator_check(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Note what the locating device reads over a measured depth."""
    bore = bore_or_404(bore_id)
    ask_to_write(request, LocatorCheck, "add")
    key = new_id(request, LocatorCheck, bore=bore)
    if LocatorCheck.objects.filter(pk=key, bore=bore).exists():
        return redirect("conflicts:rods", bore.pk)
    form = LocatorCheckForm(request.POST or None, instance=LocatorCheck(pk=key, bore=bore), job=bore.job)
    is_sent = request.method == "POST" and form.is_valid()
    if is_sent and signs(form, lambda: check_locator(form.instance, by=request.user)):
        messages.success(request, f"Noted: {form.instance.device} at {form.instance.hole}.")
        return redirect("conflicts:rods", bore.pk)
    context = {"section": "jobs", "bore": bore, "job": bore.job, "form": form, "new_id": key}
    return render(request, "conflicts/locator_check.html", context)
