"""The page that asks before a record is retired, says what depends on it, and offers to undo."""

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from locates.desk.dependents import read_dependents
from locates.desk.retire import retire
from locates.desk.save_record import named
from locates.errors import RetiredMeanwhileError, StillNamedError
from locates.models import Job
from locates.models.retirable import Retirable

KEEP, RETIRE = "keep", "retire"


def retire_page(
    request: HttpRequest, record: Retirable, job: Job, *, leave_to: str, stays: Sequence[str] = ()
) -> HttpResponse:
    """Ask whether to retire a live record, or do so and leave with a message that can undo it.

    ``stays`` is what hangs on it and stays in the record all the same, counted.
    """
    error = ""
    if request.method == "POST":
        try:
            retirement = retire(record, by=request.user, with_loose=request.POST.get("loose") == RETIRE)
        except (RetiredMeanwhileError, StillNamedError) as refused:
            error = str(refused)
        else:
            also = f", with {retirement.also}" if retirement.also else ""
            messages.success(request, f"Retired: {retirement.name}{also}.", extra_tags=str(retirement.pk))
            return redirect(leave_to)
    dependents = read_dependents(record)
    context = {
        "section": "jobs",
        "job": job,
        "record": record,
        "name": named(record),
        "dependents": dependents,
        "also": dependents.also(record),
        "stays": stays,
        "error": error,
        "leave_to": leave_to,
    }
    return render(request, "locates/retire.html", context)
