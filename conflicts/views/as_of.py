"""A job and a bore as they stood at a moment of the past; nothing is written, and nothing of now shows."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.crossings_as_drilled import crossings_as_drilled, drilled_alone_of
from conflicts.drawing.map_layers import map_document
from conflicts.drawing.profile import draw_profile
from conflicts.inputs import DEFAULT_ALONGSIDE_M, DEFAULT_CROSSING_M
from conflicts.map_records import read_past_map
from conflicts.models import Bore
from conflicts.past_sheet import read_past_bore, read_past_job
from conflicts.views.access import may_view
from conflicts.views.facility_words import FACILITY_WORDS
from conflicts.views.map_data import answer_map, may_see_rods
from locates.as_of import as_of
from locates.errors import MomentError
from locates.exchange.moments import write_moment
from locates.models import Job
from locates.past_moments import MIGRATION, begins, database_clock, moments_about, read_past_moment

Read = Callable[[datetime], dict[str, Any] | None]


class RightsToLook:
    """What a person may do in the past: look at what they may look at now, and nothing else."""

    def __init__(self, person: AbstractBaseUser, app_label: str = "") -> None:
        self.person, self.app_label = person, app_label

    def __getitem__(self, name: str) -> "RightsToLook | bool":
        if not self.app_label:
            return RightsToLook(self.person, name)
        return name.startswith("view_") and self.person.has_perm(f"{self.app_label}.{name}")

    def __contains__(self, permission: str) -> bool:
        app_label, _, name = permission.partition(".")
        return bool(RightsToLook(self.person, app_label)[name])


@may_view
@never_cache
@require_safe
def job_as_of(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Show a job as it stood."""
    present = get_object_or_404(Job.with_retired.select_related("organisation"), pk=job_id)

    def read(at: datetime) -> dict[str, Any] | None:
        found = read_past_job(job_id, at)
        if found is None:
            return None
        return {
            "job": found.job,
            "sheet": found.sheet,
            "operators": found.sheet.operators,
            "bores": found.bores,
            "map_words": found.map_words,
            "drilled_told": drilled_alone_of(found.bores),
            "default_crossing_m": DEFAULT_CROSSING_M,
            "default_alongside_m": DEFAULT_ALONGSIDE_M,
        }

    return _page(request, present, None, "conflicts/as_of_job.html", read)


@may_view
@never_cache
@require_safe
def bore_as_of(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show a bore as it stood: profile, crossings and checks, computed from the records of then."""
    present = _present_bore(bore_id)

    def read(at: datetime) -> dict[str, Any] | None:
        found = read_past_bore(bore_id, at, request.GET.get("page"))
        if found is None:
            return None
        shown = {
            "job": found.bore.job,
            "bore": found.bore,
            "state": found.state,
            "document": found.state.document,
            "operators": found.operators,
            "releases": found.releases,
            "sheet": found.walks,
            "watches": found.watches,
            "cameras": found.cameras,
            "map_words": found.map_words,
        }
        if found.state.assessed is not None:
            assessed = found.state.assessed
            beside = found.beside if may_see_rods(request) else None
            drawn = draw_profile(
                assessed.scene,
                assessed.crossings,
                FACILITY_WORDS,
                drilled=() if beside is None else beside.paths,
            )
            shown |= {
                **crossings_as_drilled(found.state.document, assessed),
                "drilled_told": drilled_alone_of([found.state]),
                "beside": beside,
                "profile": drawn,
                # Markup of ours, in which every text of a record is escaped.
                "profile_svg": mark_safe(drawn.svg),  # noqa: S308
                "profile_axis_svg": mark_safe(drawn.axis_svg),  # noqa: S308
            }
        return shown

    return _page(request, present.job, present, "conflicts/as_of_bore.html", read)


@may_view
@never_cache
@require_safe
def job_as_of_map(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Give the map of a job as it stood."""
    return _map(request, get_object_or_404(Job.with_retired, pk=job_id), None)


@may_view
@never_cache
@require_safe
def bore_as_of_map(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Give the map of a bore as it stood."""
    present = _present_bore(bore_id)
    return _map(request, present.job, present)


def _present_bore(bore_id: UUID) -> Bore:
    """The bore as it is now, retired or not: its job and zone are needed to read the moment."""
    found = get_object_or_404(Bore.with_retired, pk=bore_id)
    found.job = Job.with_retired.select_related("organisation").get(pk=found.job_id)
    return found


def _moment(request: HttpRequest, job: Job) -> datetime:
    """The moment that the address asks for; without one, this one. Raises `MomentError`."""
    now = database_clock()
    text = request.GET.get("at", "").strip()
    return read_past_moment(text, job.time_zone, now) if text else now


def _page(
    request: HttpRequest, present: Job, present_bore: Bore | None, template: str, read: Read
) -> HttpResponse:
    """The page of a moment; where it cannot be read or nothing was there, the page says so and asks again."""
    context: dict[str, Any] = {
        "section": "jobs",
        "job": present,
        "present_job": present,
        "present_bore": present_bore,
        "asked": request.GET.get("at", ""),
        "perms": RightsToLook(request.user),
    }
    try:
        at = _moment(request, present)
    except MomentError as error:
        context |= {"error": error, "moments": moments_about(present.pk, database_clock())}
        return HttpResponse(render_to_string("conflicts/as_of_nothing.html", context, request), status=400)
    first = begins(present.pk)
    context |= {
        "past_at": at,
        "at": at,
        "at_address": write_moment(at),
        "moments": moments_about(present.pk, at),
        "first": first,
        "began_with_the_record": first is not None and first.source == MIGRATION,
    }
    with as_of(present.pk, at):
        found = read(at)
        page = "conflicts/as_of_nothing.html" if found is None else template
        return HttpResponse(render_to_string(page, context | (found or {}), request))


def _map(request: HttpRequest, present: Job, present_bore: Bore | None) -> HttpResponse:
    try:
        at = _moment(request, present)
    except MomentError as error:
        return HttpResponse(str(error), status=400, content_type="text/plain; charset=utf-8")
    with as_of(present.pk, at):
        job = Job.objects.with_grounds().filter(pk=present.pk).first()
        bores = Bore.objects.select_related("job__jurisdiction")
        bore = None if present_bore is None else bores.filter(pk=present_bore.pk).first()
        if job is None or (present_bore is not None and bore is None):
            raise Http404("It was not there at that moment.")
        return answer_map(
            request, map_document(read_past_map(job, bore, at, shows_rods=may_see_rods(request)), at)
        )
