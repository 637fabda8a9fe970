"""The first step of a bulk entry: tickets or responses, and which file; from the board first which job."""

from typing import Any

from django import forms
from django.contrib.auth.models import AbstractUser

from locates.desk.bring_tickets import MOST_BULK_ROWS, SUFFIXES
from locates.exchange.bulk_kinds import BULK_KINDS
from locates.exchange.upload_guard import LARGEST_FILE_BYTES
from locates.forms.vector_upload import UploadForm
from locates.models import Job


def bulk_kinds_for(person: AbstractUser) -> list[tuple[str, str]]:
    """Kinds that a person may add records of, with their words."""
    return [
        (kind.name, kind.plural)
        for kind in BULK_KINDS.values()
        if person.has_perm(f"locates.add_{kind.model._meta.model_name}")
    ]


class BulkUploadForm(UploadForm):
    """Kind and file."""

    def __init__(self, *args: Any, person: AbstractUser, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.fields["kind"].choices = bulk_kinds_for(person)
        self.fields["file"].help_text = (
            f"CSV with a heading for each column, in UTF-8: at most {MOST_BULK_ROWS:,} rows and "
            f"{LARGEST_FILE_BYTES // 1024**2} MiB."
        )
        self.fields["file"].widget.attrs["accept"] = ",".join(SUFFIXES)


class BulkJobForm(forms.Form):
    """The job that a file is for."""

    job = forms.ModelChoiceField(
        Job.objects.none(),
        label="Job",
        empty_label="Choose the job",
        help_text="A file holds the tickets, or the answers, of one job.",
    )

    def __init__(self, data: object, viewer_id: int | None) -> None:
        super().__init__(data)
        self.fields["job"].queryset = Job.objects.seen_by(viewer_id).order_by("name")
