"""One bore: its page, whether its figures are current, and its assessment as a document."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.assess import assess
from conflicts.bore_states import bore_state as state_of
from conflicts.checks import Assessed, release_checks
from conflicts.cover_rows import cover_rows
from conflicts.crossings_as_drilled import crossings_as_drilled, drilled_alone_of
from conflicts.drawing.profile import draw_profile
from conflicts.drill_answer import drill_answer
from conflicts.drilled_beside import drilled_beside
from conflicts.engine.errors import EngineError
from conflicts.gather_rods import gather_rods
from conflicts.models import Bore
from conflicts.next_crossing import next_crossing
from conflicts.site_records import CROSSINGS
from conflicts.views.access import may_view
from conflicts.views.facility_words import FACILITY_WORDS
from conflicts.views.figureless import figureless
from conflicts.views.map_data import may_see_rods
from conflicts.views.signed_forms import state_of_form
from conflicts.watch_table import watch_table

# The only exaggeration that can be asked for: none.
TRUE_SCALE = "1"


def _bore_or_404(bore_id: UUID) -> Bore:
    return get_object_or_404(
        Bore.objects.select_related("job__organisation", "job__jurisdiction"), id=bore_id
    )


@may_view
@never_cache
@require_safe
def bore(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show what holds a bore and its crossings, or that they are being recalculated."""
    found = _bore_or_404(bore_id)
    at = timezone.now()
    state = state_of(found, at)
    context = {
        "section": "jobs",
        "bore": found,
        "job": found.job,
        "operators": found.job.operators.order_by("name"),
        "state": state,
        "document": state.document,
        "at": at,
    }
    if state.assessed is not None:
        is_true_scale = request.GET.get("exaggeration") == TRUE_SCALE
        beside = None
        if may_see_rods(request):
            beside = drilled_beside(state.assessed.scene, gather_rods([found])[found.pk])
        drawn = draw_profile(
            state.assessed.scene,
            state.assessed.crossings,
            FACILITY_WORDS,
            is_true_scale=is_true_scale,
            drilled=() if beside is None else beside.paths,
        )
        table = watch_table(state.assessed, found.pilot_diameter_m)
        context |= {
            "answer": drill_answer(found, table, state.assessed),
            **crossings_as_drilled(state.document, state.assessed, table),
            "drilled_told": drilled_alone_of([state]),
            "next_crossing": next_crossing(state.document, state.assessed),
            "beside": beside,
            "table": table,
            "crossings_not_excused": _crossings_not_excused(state.assessed),
            "is_true_scale": is_true_scale,
            "rows": cover_rows([state])[found.pk],
            "profile": drawn,
            # Markup of ours, in which every text of a record is escaped.
            "profile_svg": mark_safe(drawn.svg),  # noqa: S308
            "profile_axis_svg": mark_safe(drawn.axis_svg),  # noqa: S308
        }
        return render(request, "conflicts/bore.html", context)
    return figureless(request, state, at, {} if state.refusal else _meanwhile(found, at))


def _meanwhile(bore: Bore, at: datetime) -> dict[str, Any]:
    """Whether to drill, and what stops the crew, computed there and then: they wait for no worker."""
    assessed = state_of_form(bore, at).assessed
    if assessed is None:
        return {}
    table = watch_table(assessed, bore.pilot_diameter_m)
    return {"table": table, "answer": drill_answer(bore, table, assessed)}


def _crossings_not_excused(assessed: Assessed) -> tuple[str, ...]:
    [check] = [one for one in release_checks(assessed) if one.code == CROSSINGS]
    return check.not_excused


@may_view
@never_cache
@require_safe
def bore_state(request: HttpRequest, bore_id: UUID) -> JsonResponse:
    """Say whether the page of a bore has come to rest, or its figures are still being recalculated."""
    return JsonResponse({"is_settled": state_of(_bore_or_404(bore_id), timezone.now()).is_settled})


@may_view
@never_cache
@require_safe
def assessment(request: HttpRequest, bore_id: UUID) -> JsonResponse:
    """Give the assessment document of a bore at this moment, computed from its present inputs."""
    found = _bore_or_404(bore_id)
    try:
        return JsonResponse(assess(found, timezone.now()))
    except EngineError as error:
        return JsonResponse({"error": str(error)}, status=409)
