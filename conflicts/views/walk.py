"""The walks along a bore: signing one of this moment, and all that were signed."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from conflicts.desk.sign_walk import sign_walk
from conflicts.desk.walk_sheet import devices_of, on_record, walk_of_today, walk_sheet
from conflicts.forms.walk import WalkForm
from conflicts.models import Bore, DailyWalk
from conflicts.walk_days import not_so
from locates.errors import RetiredMeanwhileError
from locates.exchange.photo_guard import PhotoError
from locates.forms.permission import ask_to_write
from locates.forms.photos_field import words_of
from locates.local_time import format_moment


@permission_required(("conflicts.view_bore", "conflicts.view_dailywalk"), raise_exception=True)
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def walk(request: HttpRequest, bore_id: UUID) -> HttpResponse:
    """Show the walks along a bore with the form of a new one, or sign one."""
    bore = get_object_or_404(Bore.objects.select_related("job"), pk=bore_id)
    if request.method == "POST":
        ask_to_write(request, DailyWalk, "add")
        return _sign(request, bore)
    devices = devices_of(request.user, bore.job)
    form = WalkForm(initial={"device": devices[0] if devices else ""})
    return _show(request, bore, form, uuid4(), devices)


def _sign(request: HttpRequest, bore: Bore) -> HttpResponse:
    new_id = _new_id(request)
    there = DailyWalk.objects.filter(pk=new_id).first()
    if there is not None and there.bore_id == bore.pk:
        return _left(request, bore, there)
    if there is not None:
        new_id = uuid4()
    form = WalkForm(request.POST, request.FILES, instance=DailyWalk(pk=new_id, bore=bore))
    if form.is_valid():
        try:
            signed = sign_walk(form.instance, by=request.user, keep_photos=form.keep_photos)
            return _left(request, bore, signed)
        except PhotoError as error:
            form.add_error("photos", words_of(error))
        except RetiredMeanwhileError as error:
            form.add_error(None, f"{error}. What you answered is still here: sign it once that is done.")
    return _show(request, bore, form, new_id, devices_of(request.user, bore.job))


def _new_id(request: HttpRequest) -> UUID:
    try:
        return UUID(request.POST.get("new_id", ""))
    except ValueError:
        return uuid4()


def _left(request: HttpRequest, bore: Bore, signed: DailyWalk) -> HttpResponse:
    """Say what is signed, on the bore's page: whether it may be drilled is asked there."""
    when = format_moment(signed.walked_at, bore.job.time_zone)
    wrong = not_so(signed)
    if wrong:
        messages.error(request, f"Signed: the walk of {when}. It holds the bore: {', '.join(wrong)}.")
    else:
        messages.success(request, f"Signed: the walk of {when}. It counts until midnight on the job.")
    return redirect("conflicts:bore", bore.pk)


def _show(request: HttpRequest, bore: Bore, form: WalkForm, new_id: UUID, devices: list[str]) -> HttpResponse:
    at = timezone.now()
    context = {
        "section": "jobs",
        "bore": bore,
        "job": bore.job,
        "form": form,
        "new_id": new_id,
        "devices": devices,
        "on_record": on_record(bore.job),
        "of_today": walk_of_today(bore, at),
        "sheet": walk_sheet(bore, at, request.GET.get("page")),
        "at": at,
    }
    return render(request, "conflicts/walk.html", context)
