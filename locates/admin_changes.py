"""What every admin class of a job's record does after a write: say whose job has changed."""

from typing import Any
from uuid import UUID

from django.contrib import admin
from django.db.models import Model
from django.forms import ModelForm
from django.http import HttpRequest

from locates.changes import job_changed
from locates.models.retirable import Retirable


class JobChangesMixin(admin.ModelAdmin):
    """Tells of every job that a record belonged to before the write or belongs to after it.

    Inlines are covered by the class that holds them: they are saved with their parent's form.
    """

    job_lookup = "job_id"
    """Path from the record to the ids of the jobs whose assessments rest on it."""

    def _job_ids(self, keys: list[Any]) -> set[UUID]:
        records = self.model._default_manager.filter(pk__in=keys, **{f"{self.job_lookup}__isnull": False})
        return set(records.values_list(self.job_lookup, flat=True))

    def save_model(self, request: HttpRequest, obj: Model, form: ModelForm, change: bool) -> None:
        """Save, and tell of the job that the record is taken from."""
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
