"""The calendar of ticket dates: month and agenda on the site, and a private address for calendar programs."""

from calendar import Calendar
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from hashlib import sha256
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required, permission_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from locates.calendar_entries import Entry, by_day
from locates.desk.calendar_address import end_address, feed_behind, make_address
from locates.desk.read_calendar import Span, read_entries
from locates.desk.write_mail import site_address
from locates.exchange.icalendar_feed import MEDIA_TYPE, write_calendar
from locates.forms.calendar import CalendarAddressForm, CalendarForm
from locates.models import CalendarFeed, Job, NoticeSetting
from locates.views.job_forms import get_or_post

may_view = permission_required("locates.view_ticket", raise_exception=True)

MOST_SHOWN = 1000
MOST_A_CELL = 4
MOST_IN_FEED = 2000
AGENDA = timedelta(days=31)
FEED_BACK, FEED_AHEAD = timedelta(days=31), timedelta(days=366)
FEED_MAY_BE_KEPT_S = 900
SUNDAY = 6
# A day begins up to 14 hours earlier and ends up to 12 hours later than the same day of UTC.
ZONES_REACH = timedelta(hours=14)


@dataclass(frozen=True)
class Cell:
    """One day of a month's table."""

    day: date
    is_of_month: bool
    entries: list[Entry]

    @property
    def shown(self) -> list[Entry]:
        """The first entries of the day."""
        return self.entries[:MOST_A_CELL]

    @property
    def left_out(self) -> int:
        """How many more there are."""
        return max(0, len(self.entries) - MOST_A_CELL)


@may_view
@never_cache
@require_safe
def calendar(request: HttpRequest) -> HttpResponse:
    """Show the dates of tickets in a month's table, or as a list from a day on."""
    form = CalendarForm(request.GET, request.user.pk)
    form.is_valid()
    job, today = form.chosen("job"), _today(request, form)
    is_agenda = form.chosen("view") == "agenda"
    context = {
        "section": "calendar",
        "form": form,
        "today": today,
        "chosen_job": job,
        "kept": f"&job={job.pk}" if job else "",
        "is_agenda": is_agenda,
        "fields": [form["job"], form["view"], form["month"]],
    }
    if is_agenda:
        begin = form.chosen("begin") or form.chosen("month") or today
        context |= _agenda(begin, job.pk if job else None, request.user.pk)
    else:
        month = form.chosen("month") or (form.chosen("begin") or today).replace(day=1)
        context |= _month(month, job.pk if job else None, request.user.pk)
    return render(request, "locates/calendar.html", context)


def _today(request: HttpRequest, form: CalendarForm) -> date:
    """The day it is for the chosen job, else where the person says to be, else for the job farthest west.

    So nothing of a job's own evening is left out because it is tomorrow elsewhere.
    """
    job = form.chosen("job")
    setting = None if job else NoticeSetting.objects.filter(person_id=request.user.pk).first()
    if job or (setting and setting.time_zone):
        zones = [job.time_zone if job else setting.time_zone]
    else:
        seen = Job.objects.seen_by(request.user.pk).order_by()
        zones = list(seen.values_list("time_zone", flat=True).distinct()) or ["UTC"]
    now = timezone.now()
    return min(now.astimezone(ZoneInfo(zone)).date() for zone in zones)


def _month(first: date, job_id: UUID | None, viewer_id: int | None) -> dict[str, object]:
    weeks = Calendar(SUNDAY).monthdatescalendar(first.year, first.month)
    days, is_cut = _days(weeks[0][0], weeks[-1][-1], job_id, viewer_id)
    return {
        "month": first,
        "before": (first - timedelta(days=1)).replace(day=1),
        "after": (first + timedelta(days=31)).replace(day=1),
        "weekdays": weeks[0],
        "weeks": [[Cell(day, day.month == first.month, days.get(day, [])) for day in week] for week in weeks],
        "has_entries": bool(days),
        "is_cut": is_cut,
    }


def _agenda(begin: date, job_id: UUID | None, viewer_id: int | None) -> dict[str, object]:
    days, is_cut = _days(begin, begin + AGENDA - timedelta(days=1), job_id, viewer_id)
    if is_cut and len(days) > 1:
        days.popitem()  # the last day may not be whole; the next page begins with it
    last = next(reversed(days)) if is_cut and days else begin + AGENDA - timedelta(days=1)
    return {
        "begin": begin,
        "month": begin.replace(day=1),
        "before": begin - AGENDA,
        "after": last + timedelta(days=1),
        "last": last,
        "days": days.items(),
        "is_cut": is_cut,
    }


def _days(
    first: date, last: date, job_id: UUID | None, viewer_id: int | None
) -> tuple[dict[date, list[Entry]], bool]:
    """Entries of the days from the first to the last, each day as it is where its job is."""
    begin = datetime.combine(first, time.min, UTC) - ZONES_REACH
    end = datetime.combine(last, time.min, UTC) + timedelta(days=1) + ZONES_REACH
    entries, is_cut = read_entries(Span(viewer_id, begin, end, job_id), MOST_SHOWN)
    return by_day(one for one in entries if first <= one.day <= last), is_cut


@may_view
@never_cache
@get_or_post
def calendar_address(request: HttpRequest) -> HttpResponse:
    """Show whether the person has a private address, make another one, or end it."""
    token = ""
    if request.method == "POST" and "end" in request.POST:
        if end_address(request.user, at=timezone.now()):
            messages.success(request, "The address leads nowhere from now on.")
        return redirect("locates:calendar-address")
    form = CalendarAddressForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        followed_only = form.cleaned_data["followed_only"]
        token = make_address(request.user, followed_only=followed_only, at=timezone.now())
    context = {
        "section": "calendar",
        "form": form,
        "feed": CalendarFeed.objects.in_use().filter(person_id=request.user.pk).first(),
        "address": request.build_absolute_uri(reverse("locates:calendar-feed", args=[token]))
        if token
        else "",
    }
    return render(request, "locates/calendar_address.html", context)


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Send the calendar behind a private address; whoever knows the address needs no login."""
    at = timezone.now()
    feed = feed_behind(token, at)
    if feed is None:
        raise Http404("No calendar has this address.")
    follower_id = feed.person_id if feed.followed_only else None
    span = Span(feed.person_id, at - FEED_BACK, at + FEED_AHEAD, follower_id=follower_id, with_retired=True)
    entries, is_cut = read_entries(span, MOST_IN_FEED)
    content = write_calendar(
        entries, lambda key: site_address(reverse("locates:ticket", args=[key])), is_cut=is_cut
    )
    etag = quote_etag(sha256(content).hexdigest())
    response = HttpResponse(content, content_type=MEDIA_TYPE)
    response["ETag"] = etag
    response["Content-Disposition"] = 'inline; filename="tickets.ics"'
    response = get_conditional_response(request, etag=etag, response=response)
    response["Cache-Control"] = f"private, max-age={FEED_MAY_BE_KEPT_S}"
    response["X-Robots-Tag"] = "noindex"
    return response
