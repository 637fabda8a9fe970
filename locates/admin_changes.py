"""What every admin class of a job's record does: show one company's alone, and say whose job has changed."""

from typing import Any
from uuid import UUID

from django.contrib import admin
from django.db.models import ForeignKey, Model, QuerySet
from django.forms import ModelForm
from django.http import HttpRequest

from locates.changes import job_changed
from locates.models import CentreDay, JurisdictionRule, organisation_of
from locates.models.retirable import Retirable

OF_A_COMPANY = {
    "job": "organisation",
    "operator": "job__organisation",
    "mark": "job__organisation",
    "explained_by_mark": "job__organisation",
    "ticket": "job__organisation",
    "bore": "job__organisation",
    "organisation": "pk",
    "jurisdiction": "organisation",
}
"""Field that a form of the admin offers records in, to the path from those to their company."""


SHARED_TOO = (JurisdictionRule, CentreDay)
"""Kinds of record that are one company's, or of none, and then everybody looks at them."""


def narrowed(records: QuerySet, request: HttpRequest, company: str) -> QuerySet:
    """The records of the viewer's company, and what all share; whoever keeps the accounts sees all."""
    if request.user.is_superuser:
        return records
    if records.model in SHARED_TOO:
        return records.known_to(organisation_of(request.user.pk))
    return records.filter(**{company: organisation_of(request.user.pk)})


class OwnCompanyChoices(admin.options.BaseModelAdmin):
    """Offers, and takes, no record of another company in any field of a form."""

    def formfield_for_foreignkey(self, db_field: ForeignKey, request: HttpRequest, **kwargs: Any) -> Any:
        """The field, narrowed to the viewer's company."""
        field = super().formfield_for_foreignkey(db_field, request, **kwargs)
        if field is not None and db_field.name in OF_A_COMPANY:
            field.queryset = narrowed(field.queryset, request, OF_A_COMPANY[db_field.name])
        return field


class JobChangesMixin(OwnCompanyChoices, admin.ModelAdmin):
    """Tells of every job that a record belonged to before the write or belongs to after it.

    Inlines are covered by the class that holds them: they are saved with their parent's form.
    """

    job_lookup = "job_id"
    """Path from the record to the ids of the jobs whose assessments rest on it."""

    company: str = "job__organisation"
    """Path from the record to its company."""

    def get_queryset(self, request: HttpRequest) -> QuerySet:
        """The records of the viewer's company."""
        return narrowed(super().get_queryset(request), request, self.company)

    def _job_ids(self, keys: list[Any]) -> set[UUID]:
        records = self.model._default_manager.filter(pk__in=keys, **{f"{self.job_lookup}__isnull": False})
        return set(records.values_list(self.job_lookup, flat=True))

    def get_form(self, request: HttpRequest, obj: Model | None = None, **kwargs: Any) -> type[ModelForm]:
        """A record stays in its job, where its photos and what was signed about it are."""
        form = super().get_form(request, obj, **kwargs)
        if obj is not None and "job" in form.base_fields:
            form.base_fields["job"].disabled = True
        return form

    def save_model(self, request: HttpRequest, obj: Model, form: ModelForm, change: bool) -> None:
        """Save, and tell of the job that the record is in."""
        for job_id in self._job_ids([obj.pk]):
            job_changed(job_id)
        if isinstance(obj, Retirable):
            obj.edited_by = request.user
        super().save_model(request, obj, form, change)

    def save_related(self, request: HttpRequest, form: ModelForm, formsets: list[Any], change: bool) -> None:
        """Save the inlines, and tell of the job that the record is in now."""
        super().save_related(request, form, formsets, change)
        for job_id in self._job_ids([form.instance.pk]):
            job_changed(job_id)

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        """Nobody deletes: a record is retired on its page, and can be brought back."""
        return False
