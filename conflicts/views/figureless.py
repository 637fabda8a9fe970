"""The page of a bore whose figures are not there."""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from conflicts.bore_states import BoreState

NOTHING: Mapping[str, Any] = MappingProxyType({})


def figureless(
    request: HttpRequest, state: BoreState, at: datetime, meanwhile: Mapping[str, Any] = NOTHING
) -> HttpResponse:
    """Say that a bore is being recalculated, or why it cannot be; the operators' numbers stay at hand.

    ``meanwhile`` is what the page tells besides.
    """
    job = state.bore.job
    context = {"section": "jobs", "bore": state.bore, "job": job, "state": state, "at": at} | meanwhile
    context["operators"] = job.operators.order_by("name")
    template = "conflicts/bore_refused.html" if state.refusal else "conflicts/bore_recalculating.html"
    return render(request, template, context)
