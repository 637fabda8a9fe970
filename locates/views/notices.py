"""What people follow, what they were told, and the mail that went out."""

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from locates.desk.follow import follow_job, follow_tickets, leave_off
from locates.desk.send_mail import send_again
from locates.desk.write_mail import place_of
from locates.forms.form_page import section_of
from locates.forms.notice_setting import NoticeSettingForm
from locates.models import Follow, Job, Notice, NoticeSetting, OutgoingMail, Ticket
from locates.views.job_forms import get_or_post

may_view = permission_required("locates.view_ticket", raise_exception=True)

A_PAGE = 30
READ_EVERY_MAIL = "locates.read_every_mail"


@may_view
@never_cache
@require_safe
def notices(request: HttpRequest) -> HttpResponse:
    """List what the person was told, the unread first."""
    told = Notice.objects.of(request.user.pk).select_related("job", "ticket", "mark")
    page = Paginator(told, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "section": "notices",
        "page": page,
        "rows": [(notice, place_of(notice)) for notice in page],
        "newest_id": told.order_by("-made_at").values_list("pk", flat=True).first(),
        "unread": Notice.objects.unread(request.user.pk).count(),
        "follows_something": Follow.objects.of(request.user.pk).exists(),
        "sends_mail": settings.MAIL_SERVER is not None,
    }
    return render(request, "locates/notices.html", context)


@may_view
@require_POST
def read_notices(request: HttpRequest) -> HttpResponse:
    """Note that the person has read one notice, or all that were there when the page was made."""
    unread = Notice.objects.unread(request.user.pk)
    if "all_until" in request.POST:
        newest = get_object_or_404(Notice, pk=_key(request.POST["all_until"]), person_id=request.user.pk)
        unread = unread.filter(made_at__lte=newest.made_at)
    else:
        unread = unread.filter(pk=_key(request.POST.get("notice", "")))
    unread.update(read_at=timezone.now())
    return redirect("locates:notices")


@may_view
@never_cache
@get_or_post
def notice_settings(request: HttpRequest) -> HttpResponse:
    """Show and change how the person is told, and what the person follows."""
    setting = NoticeSetting.objects.filter(person_id=request.user.pk).first()
    setting = setting or NoticeSetting(person=request.user, digest_on=timezone.localdate())
    form = NoticeSettingForm(request.POST if request.method == "POST" else None, instance=setting)
    if form.is_bound and form.is_valid():
        form.save()
        messages.success(request, "Saved: how you are told.")
        return redirect("locates:notice-settings")
    context = {
        "section": "notices",
        "form": form,
        "choices": [form["alerts_by_mail"], form["digest_by_mail"]],
        "follows": Follow.objects.of(request.user.pk).with_subjects(),
        "sends_mail": settings.MAIL_SERVER is not None,
    }
    return render(request, "locates/notices_settings.html", context)


@may_view
@require_POST
def leave_off_following(request: HttpRequest) -> HttpResponse:
    """End one of the person's follows."""
    text = request.POST.get("follow", "")
    if text.isascii() and text.isdigit() and leave_off([int(text)], by=request.user):
        messages.success(request, "You are told of it no more.")
    return redirect("locates:notice-settings")


@may_view
@require_POST
def follow_a_job(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Follow a job, or leave off."""
    job = get_object_or_404(Job, pk=job_id)
    if request.POST.get("follow") == "no":
        mine = Follow.objects.filter(job=job, person_id=request.user.pk)
        leave_off(mine.values_list("pk", flat=True), by=request.user)
    else:
        follow_job(job, by=request.user, at=timezone.now())
    return redirect(_back(request, section_of(job.pk, "main")))


@may_view
@require_POST
def follow_a_ticket(request: HttpRequest, ticket_id: UUID) -> HttpResponse:
    """Follow a ticket, or leave off."""
    ticket = get_object_or_404(Ticket.objects.select_related("job"), pk=ticket_id)
    if request.POST.get("follow") == "no":
        mine = Follow.objects.filter(ticket=ticket, person_id=request.user.pk)
        leave_off(mine.values_list("pk", flat=True), by=request.user)
    else:
        follow_tickets([ticket], by=request.user, at=timezone.now())
    return redirect(_back(request, reverse("locates:ticket", args=[ticket.pk])))


@may_view
@never_cache
@require_safe
def mails(request: HttpRequest) -> HttpResponse:
    """List the mail that went, or waits to go, to the person; the safety manager sees the whole company's."""
    reads_all = request.user.has_perm(READ_EVERY_MAIL)
    shows_all = reads_all and request.GET.get("whose") == "everybody"
    found = OutgoingMail.objects.seen_by(request.user.pk).select_related("person")
    found = found if shows_all else found.filter(person_id=request.user.pk)
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "section": "notices",
        "page": page,
        "reads_all": reads_all,
        "shows_all": shows_all,
        "sends_mail": settings.MAIL_SERVER is not None,
    }
    return render(request, "locates/notices_mails.html", context)


@may_view
@never_cache
@get_or_post
def mail(request: HttpRequest, mail_id: UUID) -> HttpResponse:
    """Show one mail as it was sent; a refused one can be sent again."""
    found = get_object_or_404(OutgoingMail.objects.select_related("person", "notice__job"), pk=mail_id)
    if found.person_id != request.user.pk and not request.user.has_perm(READ_EVERY_MAIL):
        raise PermissionDenied
    if request.method == "POST":
        if send_again(found, at=timezone.now()):
            messages.success(request, "It waits to be sent again.")
        return redirect("locates:mail", found.pk)
    return render(request, "locates/notices_mail.html", {"section": "notices", "mail": found})


def _key(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def _back(request: HttpRequest, otherwise: str) -> str:
    """The page that the button stood on, where it is one of this site."""
    asked = request.POST.get("next", "")
    is_ours = url_has_allowed_host_and_scheme(asked, {request.get_host()}, require_https=request.is_secure())
    return asked if asked and is_ours else otherwise
