"""The page of a bore whose figures are not there."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from conflicts.bore_states import BoreState


def figureless(request: HttpRequest, state: BoreState, at: datetime) -> HttpResponse:
    """Say that a bore is being recalculated, or why it cannot be; the operators' numbers stay at hand."""
    job = state.bore.job
    context = {"section": "jobs", "bore": state.bore, "job": job, "state": state, "at": at}
    context["operators"] = job.operators.order_by("name")
    template = "conflicts/bore_refused.html" if state.refusal else "conflicts/bore_recalculating.html"
    return render(request, template, context)
