"""Taking a profile as the plan of its bore."""

from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from conflicts.desk.take_profile import (
    MovedPit,
    PlanFaultsError,
    entry_moves,
    entry_pit_of,
    is_planned_so,
    take_profile,
)
from conflicts.engine.errors import EngineError
from conflicts.models import Bore
from conflicts.plan_ground import plan_ground
from conflicts.plan_view import by_hand
from conflicts.views.profile_plan import hand_page, sentence
from locates.errors import ChangedMeanwhileError, RetiredMeanwhileError
from locates.forms.file_rules import for_people
from locates.forms.form_page import RECALCULATED
from locates.forms.permission import ask_to_write

MOVES, STAYS = "moves", "stays"
RODS_SINCE = (
    "The rods in the ground are not those of the page that was sent: a rod was logged or taken back since. "
    "Nothing is taken yet: look for the profile anew."
)
PIT_WORDS = {
    MOVES: "Its entry pit moved with the entry.",
    STAYS: "Its entry pit stays where it is recorded: the bore no longer begins in it.",
}


@never_cache
@require_POST
def profile_take(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Take a profile as the plan; where somebody changed the bore meanwhile, show it measured anew."""
    ask_to_write(request, Bore)
    bore = get_object_or_404(Bore.objects.select_related("job__jurisdiction", "edited_by"), pk=bore_id)
    try:
        plan = by_hand(plan_ground(bore.pk), request.POST.get("plan", ""), request.POST.get("edits", ""))
    except EngineError as error:
        return render(
            request,
            "conflicts/profile_by_hand.html",
            {"section": "jobs", "bore": bore, "job": bore.job, "refusal": sentence(error)},
            status=400,
        )
    if request.POST.get("drilled", "0") != str(plan.profile.drilled_rods):
        return hand_page(request, bore, plan, [RODS_SINCE])
    if is_planned_so(bore, plan.rods):
        return redirect("conflicts:bore", bore.pk)
    pit = entry_pit_of(bore) if entry_moves(plan.rods) else None
    choice = request.POST.get("pit", "")
    if pit is not None and choice not in PIT_WORDS:
        told = [f"The entry moves, and {pit} is recorded. Say first whether it moves with it or stays."]
        return hand_page(request, bore, plan, told)
    try:
        take_profile(
            bore,
            plan.rods,
            by=request.user,
            opened_version=_version(request, "version"),
            moved_pit=None
            if pit is None or choice == STAYS
            else MovedPit(pit, _version(request, "pit_version")),
        )
    except PlanFaultsError as error:
        told = [for_people(fault, bore.job.show_units) for fault in error.faults]
    except (ChangedMeanwhileError, RetiredMeanwhileError) as error:
        told = [f"{error}. Nothing is taken yet: look at the figures anew, then take it."]
    except ValidationError as error:
        told = error.messages
    else:
        words = "" if pit is None else f" {PIT_WORDS[choice]}"
        messages.success(request, f"The profile is the plan of {bore.name} now.{words} {RECALCULATED}")
        return redirect("conflicts:bore", bore.pk)
    return hand_page(request, get_object_or_404(Bore.objects.select_related("job"), pk=bore_id), plan, told)


def _version(request: HttpRequest, name: str) -> int:
    """The version of a record that a form was shown; one that none has where it is no number."""
    version = request.POST.get(name, "")
    return int(version) if version.isascii() and version.isdigit() else -1
