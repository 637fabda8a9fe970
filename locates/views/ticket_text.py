"""Tickets from the text of a confirmation, and the readers that a company keeps for it."""

from dataclasses import replace
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from locates.desk.save_reader import save_reader
from locates.desk.ticket_from_text import read_ticket
from locates.errors import ChangedMeanwhileError
from locates.forms.form_page import show_form
from locates.forms.permission import ask_for_company, ask_to_write
from locates.forms.text_reader import PREFIX, TextReaderForm
from locates.forms.ticket import TicketForm, ticket_page
from locates.forms.ticket_text import TicketTextForm
from locates.intake.text_fields import TEXT_FIELDS
from locates.intake.ticket_text import read_text
from locates.models import Job, TextReader, Ticket, organisation_of
from locates.views.job_forms import get_or_post

SAMPLE_ZONE = "UTC"  # a sample is of no job; only that its moments can be read matters


@permission_required("locates.view_textreader", raise_exception=True)
@never_cache
@require_safe
def text_readers(request: HttpRequest) -> HttpResponse:
    """List the readers of the person's company."""
    ours = TextReader.objects.filter(organisation_id=organisation_of(request.user.pk))
    readers = ours.select_related("edited_by")
    return render(request, "locates/text_readers.html", {"section": "tickets", "readers": readers})


@never_cache
@get_or_post
def add_reader(request: HttpRequest) -> HttpResponse:
    """Keep a new reader."""
    ask_to_write(request, TextReader, "add")
    reader = TextReader(organisation=ask_for_company(request))
    return _reader_page(request, reader, "New reader of confirmations")


@never_cache
@get_or_post
def edit_reader(request: HttpRequest, reader_id: UUID) -> HttpResponse:
    """Change a reader."""
    ask_to_write(request, TextReader)
    reader = get_object_or_404(TextReader, pk=reader_id)
    return _reader_page(request, reader, f"Reader {reader}")


def _reader_page(request: HttpRequest, reader: TextReader, title: str) -> HttpResponse:
    """The form of a reader; "try" shows what its patterns find in the sample, and saves nothing."""
    form = TextReaderForm(request.POST or None, instance=reader)
    context = {"section": "tickets", "form": form, "title": title}
    if request.method == "POST" and form.is_valid():
        if "try" in request.POST:
            context["tried"] = read_text(form.patterns(), form.cleaned_data["sample"], SAMPLE_ZONE)
            context["is_tried"] = True
        else:
            try:
                opened = form.cleaned_data["opened_version"]
                save_reader(form.instance, by=request.user, opened_version=opened)
            except ChangedMeanwhileError as error:
                context |= _both(form, error.present)
            else:
                messages.success(request, f"Saved: the reader {form.instance}.")
                return redirect("locates:text-readers")
    return render(request, "locates/text_reader_form.html", context)


def _both(form: TextReaderForm, present: TextReader) -> dict:
    """What somebody else saved meanwhile, beside what this person typed; saved again, this one's counts."""
    form.data = form.data.copy()
    form.data["opened_version"] = present.version
    theirs = [("Name", present.name)] if present.name != form.cleaned_data["name"] else []
    if present.sample != form.cleaned_data["sample"]:
        theirs.append(("Sample", present.sample))
    theirs += [
        (field.words, present.patterns.get(field.name, "") or "nothing")
        for field in TEXT_FIELDS
        if present.patterns.get(field.name, "") != form.cleaned_data[PREFIX + field.name]
    ]
    return {"present": present, "theirs": theirs}


@never_cache
@get_or_post
def ticket_from_text(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Fill a new ticket's form from a text; nothing is stored before a person saves the form."""
    ask_to_write(request, Ticket, "add")
    job = get_object_or_404(Job.objects.with_grounds(), pk=job_id)
    sent = TicketTextForm(request.POST or None, request.FILES or None, job=job)
    if request.method != "POST" or not sent.is_valid():
        return render(
            request, "locates/ticket_from_text.html", {"section": "tickets", "form": sent, "job": job}
        )
    read = read_ticket(sent.cleaned_data["reader"], job, sent.cleaned_data["text"])
    ticket = Ticket(job=job)
    form = TicketForm(instance=ticket, job=job)
    form.initial |= read.texts
    contradictory = [str(form.fields[name].label) for name in sorted(read.contradicted)]
    context = {"read": read, "contradictory": contradictory}
    page = replace(ticket_page(ticket, context), template="locates/ticket_read.html")
    return show_form(request, form, page, new_id=uuid4())
