"""The pull estimate of a bore."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.bore_states import bore_state
from conflicts.forms.pullback import PullbackForm
from conflicts.models import Bore
from conflicts.pass_questions import hole_pulled_through
from conflicts.pullback.sheet import pull_sheet
from conflicts.pulled_paths import pulled_paths
from conflicts.views.access import may_view
from conflicts.views.figureless import figureless


@may_view
@never_cache
@require_safe
def pullback(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show what it takes to pull the conduits in, each step with its sum; nothing is stored."""
    bore = get_object_or_404(
        Bore.objects.select_related("job__organisation", "job__jurisdiction"), pk=bore_id
    )
    at = timezone.now()
    state = bore_state(bore, at)
    if state.assessed is None:
        return figureless(request, state, at)
    scene, made = state.assessed.scene, state.assessed.drilled
    form = PullbackForm(request.GET or None, job=bore.job)
    context = {"section": "jobs", "bore": bore, "job": bore.job, "form": form, "at": at}
    context["problem"] = made.problem
    paths = pulled_paths(scene, state.assessed.site.log, made.path)
    context["by"] = ", and ".join(one.words for one in paths)
    if form.is_valid() and not made.problem:
        hole = hole_pulled_through(scene, bore.pilot_diameter_m)
        context["sheets"] = [
            (one.words, pull_sheet(form.pull(), one.path, hole, bore.job.show_units)) for one in paths
        ]
        context["worst"] = max(context["sheets"], key=lambda one: one[1].pull_n)
    return render(request, "conflicts/pullback.html", context, status=400 if form.errors else 200)
