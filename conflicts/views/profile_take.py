"""Taking a profile as the plan of its bore."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from conflicts.desk.take_profile import PlanFaultsError, is_planned_so, take_profile
from conflicts.engine.errors import EngineError
from conflicts.models import Bore
from conflicts.plan_ground import plan_ground
from conflicts.plan_view import by_hand
from conflicts.views.profile_plan import hand_page, sentence
from locates.errors import ChangedMeanwhileError, RetiredMeanwhileError
from locates.forms.file_rules import for_people
from locates.forms.form_page import RECALCULATED
from locates.forms.permission import ask_to_write


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
    if is_planned_so(bore, plan.rods):
        return redirect("conflicts:bore", bore.pk)
    version = request.POST.get("version", "")
    try:
        opened = int(version) if version.isascii() and version.isdigit() else -1
        take_profile(bore, plan.rods, by=request.user, opened_version=opened)
    except PlanFaultsError as error:
        told = [for_people(fault, bore.job.show_units) for fault in error.faults]
    except (ChangedMeanwhileError, RetiredMeanwhileError) as error:
        told = [f"{error}. Nothing is taken yet: look at the figures anew, then take it."]
    else:
        messages.success(request, f"The profile is the plan of {bore.name} now. {RECALCULATED}")
        return redirect("conflicts:bore", bore.pk)
    return hand_page(request, get_object_or_404(Bore.objects.select_related("job"), pk=bore_id), plan, told)
