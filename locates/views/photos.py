"""Photos: added to a record, shown as copies without metadata, told of, and handed out as they came."""

from uuid import UUID

from csp.constants import NONE
from csp.decorators import csp
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_cookie

from locates.desk.keep_photo import MOST_PHOTOS
from locates.errors import RetiredMeanwhileError
from locates.exchange.handed_out import as_attachment
from locates.exchange.photo_guard import PhotoError
from locates.forms.form_page import section_of
from locates.forms.permission import ask_to_write
from locates.forms.photos_field import PhotosForm, words_of
from locates.models import Job, LedgerEntry, Photo
from locates.models.photo import BYTES
from locates.photographed import PHOTOGRAPHED, address_of, kind_of, subject_of
from locates.views.job_forms import get_or_post

may_view = permission_required("locates.view_photo", raise_exception=True)
may_open = permission_required(("locates.view_photo", "locates.open_original_photo"), raise_exception=True)
A_DAY_S = 24 * 60 * 60


@may_view
@never_cache
@get_or_post
def photos(request: HttpRequest, kind: str, record_id: UUID) -> HttpResponse:
    """Show the photos of a record, and take more."""
    photographed = PHOTOGRAPHED.get(kind)
    if photographed is None:
        raise Http404("No photos are kept of such records.")
    seen = Job.objects.seen_by(request.user.pk)
    record = get_object_or_404(
        photographed.model.objects.filter(job__in=seen).select_related("job"), pk=record_id
    )
    if request.method == "POST":
        ask_to_write(request, Photo, "add")
    form = PhotosForm(request.POST, request.FILES) if request.method == "POST" else PhotosForm()
    if request.method == "POST" and form.is_valid():
        try:
            kept = form.keep_photos(record, by=request.user)
        except PhotoError as error:
            form.add_error("photos", words_of(error))
        except RetiredMeanwhileError as error:
            form.add_error(None, f"{error}.")
        else:
            messages.success(request, f"Kept: {', '.join(photo.file_name for photo in kept)}.")
            return redirect("locates:photo-add", kind, record.pk)
    context = {
        "section": "jobs",
        "job": record.job,
        "record": record,
        "called": f"{record._meta.verbose_name} {record.ref}",
        "back_to": section_of(record.job_id, photographed.section),
        "photos": Photo.objects.of(record),
        "most": MOST_PHOTOS,
        "form": form,
    }
    return render(request, "locates/photos_page.html", context)


@may_view
@never_cache
@require_safe
def facts(request: HttpRequest, photo_id: UUID) -> HttpResponse:
    """Show what is known of a photo; where it was taken only to whoever may open the original."""
    photo = get_object_or_404(
        Photo.objects.seen_by(request.user.pk).select_related("job").defer(*BYTES), pk=photo_id
    )
    subject = subject_of(photo)
    context = {
        "section": "jobs",
        "job": photo.job,
        "photo": photo,
        "subject": subject,
        "subject_kind": kind_of(subject) if subject else photo.subject_model,
        "subject_address": address_of(subject) if subject else "",
        "entry": LedgerEntry.objects.filter(kind=Photo.LEDGER_KIND, record_id=photo.pk).first(),
    }
    return render(request, "locates/photo.html", context)


@may_open
@never_cache
@csp({"default-src": [NONE], "frame-ancestors": [NONE], "sandbox": True})
@require_safe
def original(request: HttpRequest, photo_id: UUID) -> HttpResponse:
    """Hand out a photo byte by byte as it came, to be saved and never to be shown in this site's name."""
    photo = get_object_or_404(
        Photo.objects.seen_by(request.user.pk).only("content", "media_type", "file_name"), pk=photo_id
    )
    return as_attachment(bytes(photo.content), photo.media_type, photo.file_name)


@may_view
@vary_on_cookie
@csp({"default-src": [NONE], "frame-ancestors": [NONE], "sandbox": True})
@require_safe
def thumbnail(request: HttpRequest, photo_id: UUID) -> HttpResponse:
    """The small copy."""
    return _copy(request, photo_id, "thumbnail")


@may_view
@vary_on_cookie
@csp({"default-src": [NONE], "frame-ancestors": [NONE], "sandbox": True})
@require_safe
def print_copy(request: HttpRequest, photo_id: UUID) -> HttpResponse:
    """The copy for pages and paper."""
    return _copy(request, photo_id, "print_copy")


def _copy(request: HttpRequest, photo_id: UUID, which: str) -> HttpResponse:
    """A copy without metadata, which the person's own browser may keep under its digest for a day."""
    photos = Photo.objects.seen_by(request.user.pk)
    digest = photos.filter(pk=photo_id).values_list(f"{which}_sha256", flat=True).first()
    if digest is None:
        raise Http404("No such photo.")
    etag = quote_etag(digest)
    response = get_conditional_response(request, etag=etag)
    if not isinstance(response, HttpResponseNotModified):
        raw = photos.values_list(which, flat=True).get(pk=photo_id)
        response = HttpResponse(bytes(raw), content_type="image/jpeg")
        response["Content-Disposition"] = "inline"
        response["X-Content-Type-Options"] = "nosniff"
    response["ETag"] = etag
    response["Cache-Control"] = f"private, max-age={A_DAY_S}, immutable"
    return response
