"""One crossing of a bore, with everything that its verdict rests on."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.bore_states import bore_state
from conflicts.crossing_sheet import read_crossing_sheet
from conflicts.desk.watch_records import watches_at
from conflicts.drilled_beside import drilled_beside
from conflicts.gather_rods import gather_rods
from conflicts.models import Bore, CloseOut
from conflicts.views.access import may_view
from conflicts.views.figureless import figureless
from conflicts.views.map_data import may_see_rods
from conflicts.watch_table import watch_table


@may_view
@never_cache
@require_safe
def crossing(request: HttpRequest, bore_id: UUID, sequence: int) -> HttpResponse:
    """Show a crossing by its place along the bore, from 0, or that the bore is being recalculated."""
    bores = Bore.objects.select_related("job__organisation", "job__jurisdiction")
    bore = get_object_or_404(bores, id=bore_id)
    at = timezone.now()
    state = bore_state(bore, at)
    if state.assessed is None:
        return figureless(request, state, at)
    context = {"section": "jobs", "bore": bore, "job": bore.job, "state": state, "at": at}
    beside = None
    if may_see_rods(request):
        beside = drilled_beside(state.assessed.scene, gather_rods([bore])[bore.pk])
    sheet = read_crossing_sheet(state.assessed, sequence, None if beside is None else beside.drilled)
    if sheet is None:
        raise Http404("No crossing has that place along the bore.")
    count = len(state.assessed.crossings)
    table = watch_table(state.assessed, bore.pilot_diameter_m)
    context |= {
        "sheet": sheet,
        "beside": beside,
        "inputs": state.assessed.scene.inputs,
        "place": sequence + 1,
        "count": count,
        "previous": sequence - 1 if sequence > 0 else None,
        "table": table,
        "row": table.crossings[sequence],
        "watches": watches_at(bore, state.assessed, sequence),
        "close_out": CloseOut.objects.filter(bore=bore).first(),
        "following": sequence + 1 if sequence + 1 < count else None,
        # Markup of ours, in which every text of a record is escaped.
        "section_svg": mark_safe(sheet.section.svg),  # noqa: S308
    }
    return render(request, "conflicts/crossing.html", context)
