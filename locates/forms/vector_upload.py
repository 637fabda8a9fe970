"""The first step of an import: what kind of record, and which file."""

from typing import Any

from django import forms
from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError

from locates.exchange.upload_guard import LARGEST_FILE_BYTES
from locates.exchange.vector_files import SUFFIXES
from locates.exchange.vector_kinds import KINDS


def kinds_for(person: AbstractUser) -> list[tuple[str, str]]:
    """Kinds that a person may add records of, with their words."""
    return [
        (kind.name, kind.plural) for kind in KINDS.values() if person.has_perm(f"locates.add_{kind.model}")
    ]


class UploadForm(forms.Form):
    """Kind and file."""

    kind = forms.ChoiceField(label="What is in the file", widget=forms.RadioSelect)
    file = forms.FileField(
        label="File",
        help_text=(
            "CSV, GeoJSON, GeoPackage, KML, GPX, DXF, or the parts of a Shapefile in one zip; "
            f"at most {LARGEST_FILE_BYTES // 1024**2} MiB."
        ),
        widget=forms.FileInput(attrs={"accept": ",".join(SUFFIXES)}),
        allow_empty_file=True,
        max_length=200,
    )

    def __init__(self, *args: Any, person: AbstractUser, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = kinds_for(person)

    def clean_file(self) -> Any:
        """Refuse what is too large before it is read."""
        found = self.cleaned_data["file"]
        if found.size > LARGEST_FILE_BYTES:
            most = f"at most {LARGEST_FILE_BYTES // 1024**2} MiB"
            raise ValidationError(f"found {found.size:,} bytes; accepted: {most}")
        return found
