"""The data of the maps of jobs and bores, as compact JSON that a browser keeps until it has changed."""

import hashlib
import json
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from conflicts.drawing.map_layers import map_document
from conflicts.map_records import read_bore_map, read_job_map
from conflicts.models import Bore
from conflicts.views.access import may_view
from locates.models import Job


@may_view
@require_safe
def job_map(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Give the map of a job."""
    job = get_object_or_404(Job.objects.with_grounds(), id=job_id)
    at = timezone.now()
    return answer_map(request, map_document(read_job_map(job, at, shows_rods=may_see_rods(request)), at))


@may_view
@require_safe
def bore_map(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Give the map of a bore: what of its job lies round it."""
    bore = get_object_or_404(Bore.objects.select_related("job__jurisdiction"), id=bore_id)
    at = timezone.now()
    return answer_map(request, map_document(read_bore_map(bore, at, shows_rods=may_see_rods(request)), at))


def may_see_rods(request: HttpRequest) -> bool:
    """Whether what was drilled is drawn for this person."""
    return request.user.has_perm("conflicts.view_drilledrod")


def answer_map(request: HttpRequest, document: dict[str, Any]) -> HttpResponse:
    """The document with its digest; nothing but "not modified" where the browser has the same."""
    body = json.dumps(document, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
    tag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    response = HttpResponse(body, content_type="application/json")
    response.headers["ETag"] = tag
    # Kept by the person's own browser alone, and asked for again each time.
    response.headers["Cache-Control"] = "private, no-cache"
    return get_conditional_response(request, etag=tag, response=response)
