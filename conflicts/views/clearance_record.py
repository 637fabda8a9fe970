"""The clearance records of a bore: asked for, watched while one is made, listed, and handed out."""

from typing import Any
from uuid import UUID, uuid4

from csp.constants import NONE
from csp.decorators import csp
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.utils.text import slugify
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from conflicts.bore_address import bore_address
from conflicts.models import Bore, RecordMaking
from conflicts.record.ask import ask_for_record
from conflicts.record.progress import progress_of
from locates.errors import RetiredMeanwhileError
from locates.forms.permission import ask_to_write

may_read = permission_required(
    ("locates.view_job", "conflicts.view_bore", "conflicts.view_recordmaking"), raise_exception=True
)


def _bore_or_404(bore_id: UUID) -> Bore:
    """The bore, a retired one too: what was made of it stays to be read."""
    return get_object_or_404(
        Bore.with_retired.select_related("job__organisation", "job__jurisdiction"), id=bore_id
    )


@may_read
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def records(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """List the records of a bore and how far the one is that is being made; ask for one of a live bore."""
    bore, refusal = _bore_or_404(bore_id), ""
    if request.method == "POST":
        ask_to_write(request, RecordMaking, "add")
        try:
            ask_for_record(bore, _request_id(request), by=request.user)
        except RetiredMeanwhileError as error:
            refusal = str(error)
        else:
            return redirect("conflicts:clearance-record", bore.pk)
    latest = RecordMaking.objects.latest_of(bore.pk)
    context: dict[str, Any] = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "bore_address": bore_address(bore.pk, bore.retired_at),
        "refusal": refusal,
        "latest": latest,
        "progress": progress_of(latest),
        "made": list(RecordMaking.objects.made_of(bore.pk)),
        "request_id": uuid4(),
    }
    return render(request, "conflicts/clearance_records.html", context, status=409 if refusal else 200)


def _request_id(request: HttpRequest) -> UUID:
    """The id that the page gave its form, so that one sent twice asks once."""
    try:
        return UUID(request.POST.get("request_id", ""))
    except ValueError:
        return uuid4()


@may_read
@never_cache
@require_safe
def state(request: HttpRequest, bore_id: UUID) -> JsonResponse:
    """How far the worker is with the record that was asked for last, for the page that waits."""
    bore = _bore_or_404(bore_id)
    return JsonResponse(progress_of(RecordMaking.objects.latest_of(bore.pk)))


@may_read
@never_cache
@csp({"default-src": [NONE], "frame-ancestors": [NONE], "sandbox": True})
@require_safe
def record_file(request: HttpRequest, bore_id: UUID, making_id: UUID) -> HttpResponse:
    """Hand out a record byte by byte as it was made, to be saved."""
    bore = _bore_or_404(bore_id)
    made = get_object_or_404(
        RecordMaking.objects.filter(bore=bore, state="done", same_as=None), request_id=making_id
    )
    name = slugify(f"clearance record {bore.job.name} {bore.name} {made.as_of:%Y-%m-%dT%H%M%SZ}")
    response = HttpResponse(bytes(made.content), content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(True, f"{name[:150]}.pdf")
    response["X-Content-Type-Options"] = "nosniff"
    return response
