"""The page of a form that writes one record: shown, checked, told of other editors, saved, left."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from locates.desk.save_record import named, save_record
from locates.errors import ChangedMeanwhileError, RetiredMeanwhileError
from locates.forms.record_form import RecordForm
from locates.forms.two_editors import Conflict, is_older, reconcile, settle
from locates.models import Job
from locates.models.retirable import Retirable

RECALCULATED = "All that rests on it is being recalculated."


def section_of(job_id: UUID, section: str) -> str:
    """Address of a section of a job's page."""
    return f"{reverse('conflicts:job', args=[job_id])}#{section}"


@dataclass(frozen=True)
class FormPage:
    """What a form's page is called and where it leads.

    ``action`` is where the form is sent where that is not the page's own address;
    ``leave_to`` is an address, or gives one for the saved record; ``save`` is the verb that stores the
    checked record; ``context`` is for a template of its own.
    """

    title: str
    leave_to: str | Callable[[Retirable], str]
    save: Callable[..., None] = save_record
    template: str = "locates/form.html"
    context: Mapping[str, Any] = field(default_factory=dict)
    submit: str = "Save"
    back_to: str = ""
    action: str = ""

    @property
    def cancel(self) -> str:
        """Where a person goes who saves nothing."""
        return self.back_to or str(self.leave_to)

    def left(self, record: Retirable) -> HttpResponse:
        """The way on from a record that is stored."""
        return redirect(self.leave_to if isinstance(self.leave_to, str) else self.leave_to(record))


def form_page(
    request: HttpRequest, form_class: type[RecordForm], record: Retirable, job: Job, page: FormPage
) -> HttpResponse:
    """Show the form of a record, new or stored, or save what was sent in and leave.

    A stored record is to come from ``with_retired``: what somebody typed is shown again even where the record
    was retired meanwhile.
    """
    if record._state.adding:
        return _adding(request, form_class, record, job, page)
    if request.method != "POST":
        if record.retired_at is not None:
            raise Http404("The record is retired.")
        return show_form(request, form_class(instance=record, job=job), page)
    sent = form_class(request.POST, instance=record, job=job)
    if record.retired_at is not None:
        sent.is_valid()
        return show_form(request, _told_of_retirement(sent, RetiredMeanwhileError(named(record))), page)
    if is_older(sent):
        return _show_both(request, sent, record, page)
    form, conflict = settle(sent, type(record).with_retired.get(pk=record.pk))
    if conflict is not None:
        for one in conflict.clashes:
            form.add_error(one.name, "Choose whose value to keep: yours or theirs.")
        return show_form(request, form, page, conflict)
    return _save(request, form, page, opened_version=record.version)


def _adding(
    request: HttpRequest, form_class: type[RecordForm], record: Retirable, job: Job, page: FormPage
) -> HttpResponse:
    """A new record; sent twice by a hurried hand it is stored once, for the form carries its id."""
    if request.method != "POST":
        return show_form(request, form_class(instance=record, job=job), page, new_id=uuid4())
    record.pk = new_id = _new_id(request)
    there = type(record).with_retired.filter(pk=new_id).first()
    if there is not None and _is_of_the_same(there, record):
        return page.left(record)
    if there is not None:
        # What another job has under this id stays its own, and what was typed is stored all the same.
        record.pk = new_id = uuid4()
    return _save(request, form_class(request.POST, instance=record, job=job), page, new_id=new_id)


def _is_of_the_same(there: Retirable, record: Retirable) -> bool:
    """Whether two records are of one job, or two jobs of one company."""
    if isinstance(there, Job):
        return bool(there.organisation_id == record.organisation_id)
    return there.home_job_id == record.home_job_id


def _new_id(request: HttpRequest) -> UUID:
    try:
        return UUID(request.POST.get("new_id", ""))
    except ValueError:
        return uuid4()


def _save(
    request: HttpRequest,
    form: RecordForm,
    page: FormPage,
    *,
    opened_version: int | None = None,
    new_id: UUID | None = None,
) -> HttpResponse:
    if form.is_valid():
        try:
            page.save(form.instance, by=request.user, opened_version=opened_version, **form.details())
        except ChangedMeanwhileError as error:
            return _show_both(request, form, error.present, page)
        except RetiredMeanwhileError as error:
            _told_of_retirement(form, error)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"Saved: {named(form.instance)}. {RECALCULATED}")
            return page.left(form.instance)
    return show_form(request, form, page, new_id=new_id)


def _told_of_retirement(form: RecordForm, error: RetiredMeanwhileError) -> RecordForm:
    form.add_error(None, f"{error}. What you typed is still here: save it once that is done.")
    return form


def _show_both(request: HttpRequest, form: RecordForm, record: Retirable, page: FormPage) -> HttpResponse:
    """What this person and the other one did, for this person to choose."""
    present = type(record).with_retired.select_related("edited_by").get(pk=record.pk)
    anew, conflict = reconcile(form, present)
    if not conflict.taken and not conflict.clashes:
        # Nothing that this form shows is another: there is nothing to choose and nothing to lose.
        return _save(request, anew, page, opened_version=present.version)
    return show_form(request, anew, page, conflict)


def show_form(
    request: HttpRequest,
    form: RecordForm,
    page: FormPage,
    conflict: Conflict | None = None,
    new_id: UUID | str | None = None,
) -> HttpResponse:
    """The page of a form as it stands."""
    context = {
        "section": "jobs",
        "form": form,
        "job": form.job,
        "page": page,
        "conflict": conflict,
        "new_id": new_id,
        **page.context,
    }
    return render(request, page.template, context)
