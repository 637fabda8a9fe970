"""Several files in one field of a form, each checked by its content: what photos and papers share."""

from typing import Any, Generic, Protocol, TypeVar

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

MOST_AT_ONCE = 10
"""In one sending, so that it gets through from a phone by the road; common practice, no source."""


class Checked(Protocol):
    """A file that may be kept."""

    @property
    def sha256(self) -> str:
        """By which the same file brought twice is known."""


CheckedFile = TypeVar("CheckedFile", bound=Checked)


class FilesInput(forms.FileInput):
    """A control that takes several files."""

    allow_multiple_selected = True


class FilesField(forms.FileField, Generic[CheckedFile]):
    """Files that may be kept; cleans to a list of them, the same one once.

    Attributes
    ----------
    things : str
        What its words call the files.
    """

    widget = FilesInput
    things: str

    def __init__(self, *, accept: str, **kwargs: Any) -> None:
        super().__init__(allow_empty_file=True, **kwargs)
        self.widget.attrs["accept"] = accept

    def checked(self, upload: UploadedFile) -> CheckedFile:
        """One file, or a ``ValidationError`` that says why it cannot be kept."""
        raise NotImplementedError

    def clean(self, data: Any, initial: Any = None) -> list[CheckedFile]:
        """Check every file, and tell of all that cannot be kept."""
        uploads = [one for one in data or [] if one is not None]
        if self.required and not uploads:
            raise ValidationError(self.error_messages["required"], code="required")
        if len(uploads) > MOST_AT_ONCE:
            raise ValidationError(
                f"Found {len(uploads)} {self.things}; accepted: at most {MOST_AT_ONCE} at once. "
                "Send the others after."
            )
        kept: dict[str, CheckedFile] = {}
        refused = []
        for upload in uploads:
            try:
                one = self.checked(upload)
            except ValidationError as error:
                refused.append(error)
            else:
                kept.setdefault(one.sha256, one)
        if refused:
            raise ValidationError(refused)
        return list(kept.values())
