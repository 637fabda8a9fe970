"""A bore's profile searched, changed by hand, compared. Nothing is stored: the address holds it."""

from collections.abc import Sequence
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from conflicts.desk.take_profile import entry_pit_of
from conflicts.engine.errors import EngineError
from conflicts.find_profile import find_profile
from conflicts.forms.pitches import PitchesByHand
from conflicts.forms.profile_search import ProfileSearchForm
from conflicts.models import Bore
from conflicts.plan_ground import lately_read, plan_ground
from conflicts.plan_text import NoPlanError
from conflicts.plan_view import HandPlan, ShownPlan, by_hand, compared, holes_wanted, shown_plan
from conflicts.planned_profile import PlannedProfile
from conflicts.profile_document import bound_sentence, relaxation_sentences, why_none
from conflicts.release import releases_to_lapse
from conflicts.views.access import bore_or_404, may_view
from conflicts.views.facility_words import FACILITY_WORDS

# A search computes no longer than this, s; the page says so.
MOST_S = 10.0


def _context(bore: Bore) -> dict:
    return {"section": "jobs", "bore": bore, "job": bore.job, "at": timezone.now(), "most_s": MOST_S}


def sentence(error: EngineError) -> str:
    """What the engine refused, as a sentence."""
    words = str(error)
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."


def _status(error: EngineError) -> int:
    """Of an answer without a profile: an address that names none is no mistake."""
    return 200 if isinstance(error, NoPlanError) else 400


def _refused(error: EngineError) -> dict:
    """What a page without a profile tells, and whether it is that the bore has no rods."""
    return {"refusal": sentence(error), "has_no_rods": isinstance(error, NoPlanError)}


@may_view
@never_cache
@require_safe
def profile_search(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Ask what a profile must keep, and search it: the address holds what was asked."""
    bore = bore_or_404(bore_id)
    context = _context(bore)
    try:
        ground = plan_ground(bore.pk)
        context["planned"] = shown_plan(ground.planned(), FACILITY_WORDS)
        context["releases"] = releases_to_lapse(bore)
        context["inputs_digest"] = ground.data.recorded.digest()
        context["entry_pit"] = entry_pit_of(bore)
        context["head"] = ground.head
    except EngineError as error:
        return render(request, "conflicts/profile_search.html", context | {"refusal": sentence(error)})
    asked = request.GET if "rod_length_m" in request.GET else None
    form = ProfileSearchForm(asked, job=bore.job, ground=ground)
    context["form"] = form
    if asked is not None and form.is_valid():
        try:
            found = find_profile(bore.pk, form.wishes(), rig=form.rig(), with_bound=True, most_s=MOST_S)
        except EngineError as error:
            form.add_error(None, sentence(error))
        else:
            context |= {
                "found": found,
                "drilled": found.drilled_rods,
                "shown": None if found.rods is None else shown_plan(found, FACILITY_WORDS),
                "bound": _bound(found, bore.job.show_units),
                "why_none": why_none(found),
                "relaxations": relaxation_sentences(found),
                "holes": holes_wanted(ground, found),
            }
    return render(request, "conflicts/profile_search.html", context, status=400 if form.errors else 200)


def _bound(found: PlannedProfile, show_units: str) -> str:
    """What margin is proven to be out of reach; nothing where none is."""
    most_m = found.no_margin_above_m
    return "" if most_m is None else bound_sentence(most_m, show_units)


@may_view
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def profile_by_hand(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Change pitches of a profile; what is sent leads to the address of what it makes."""
    bore = bore_or_404(bore_id)
    sent = request.POST if request.method == "POST" else request.GET
    try:
        plan = by_hand(plan_ground(bore.pk), sent.get("plan", ""), sent.get("edits", ""))
    except EngineError as error:
        context = _context(bore) | _refused(error)
        return render(request, "conflicts/profile_by_hand.html", context, status=_status(error))
    return hand_page(request, bore, plan)


def hand_page(request: HttpRequest, bore: Bore, plan: HandPlan, told: Sequence[str] = ()) -> HttpResponse:
    """The page of a profile with boxes for its pitches, and why it was not taken as the plan."""
    shown = shown_plan(plan.profile, FACILITY_WORDS)
    sent = request.POST if request.method == "POST" and not told else None
    pitches = PitchesByHand(sent, plan, shown.sheet)
    if sent is not None and not pitches.errors:
        return redirect(hand_address(bore.pk, plan.text, pitches.edits_text()))
    context = _context(bore) | _plan_context(bore, plan, shown)
    context["inputs_digest"] = plan.profile.inputs.digest()
    context |= {"pitches": pitches, "told": told, "releases": releases_to_lapse(bore)}
    context["entry_pit"] = entry_pit_of(bore)
    context |= {"head": plan.profile.head, "drilled": plan.profile.drilled_rods}
    status = 400 if pitches.errors else 409 if told else 200
    return render(request, "conflicts/profile_by_hand.html", context, status=status)


def _plan_context(bore: Bore, plan: HandPlan, shown: ShownPlan) -> dict:
    return {
        "plan": plan,
        "shown": shown,
        "undo": hand_address(bore.pk, plan.text, plan.edits_before),
        "undo_all": hand_address(bore.pk, plan.text, ""),
        "compare": _with(bore, "conflicts:profile-compare", plan),
    }


def _with(bore: Bore, name: str, plan: HandPlan) -> str:
    return f"{reverse(name, args=[bore.pk])}?{_query(plan.text, plan.edits_text)}"


def hand_address(bore_id: UUID, text: str, edits: str) -> str:
    """Where a profile is changed by hand."""
    return f"{reverse('conflicts:profile-by-hand', args=[bore_id])}?{_query(text, edits)}"


def _query(text: str, edits: str) -> str:
    return urlencode({"plan": text, "edits": edits} if edits else {"plan": text}, safe="~")


@may_view
@never_cache
@require_safe
def profile_figures(request: HttpRequest, bore_id: UUID) -> JsonResponse:
    """Give the figures of a profile with pitches changed by hand; one more change where it is asked for."""
    bore = bore_or_404(bore_id)
    try:
        plan = by_hand(
            lately_read(bore.pk),
            request.GET.get("plan", ""),
            request.GET.get("edits", ""),
            request.GET.get("rod", ""),
            request.GET.get("percent", ""),
        )
    except EngineError as error:
        return JsonResponse({"error": sentence(error)}, status=_status(error))
    shown = shown_plan(plan.profile, FACILITY_WORDS)
    context = _context(bore) | _plan_context(bore, plan, shown)
    parts = ("answer", "drawing", "lines")
    return JsonResponse(
        {
            "edits": plan.edits_text,
            "address": hand_address(bore.pk, plan.text, plan.edits_text),
            "links": {name: context[name] for name in ("undo", "undo_all", "compare")},
            "changes": len(plan.edits),
            "brief": shown.sheet.brief,
            "rods": [
                {
                    "length": row.length,
                    "station": row.station,
                    "depth": row.depth,
                    "percent": row.percent,
                    "change": row.change,
                    "near": row.near,
                }
                for row in shown.sheet.rods
            ],
            "parts": {
                name: render_to_string(f"conflicts/plan_{name}.html", context, request) for name in parts
            },
        }
    )


@may_view
@never_cache
@require_safe
def profile_compare(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show a profile beside the planned one, beside its own beginning, or beside one kept before."""
    bore = bore_or_404(bore_id)
    context = _context(bore)
    try:
        context |= compared(plan_ground(bore.pk), request.GET, FACILITY_WORDS)
    except EngineError as error:
        context |= _refused(error)
        return render(request, "conflicts/profile_compare.html", context, status=_status(error))
    return render(request, "conflicts/profile_compare.html", context)
