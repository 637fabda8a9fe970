"""Papers on a form: drawings, calculations, letters, several at once."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from locates.exchange.paper_guard import (
    ACCEPTED,
    SUFFIXES,
    CheckedPaper,
    PaperError,
    check_paper,
    check_paper_size,
)
from locates.forms.response_paper import words_of
from locates.models.paper_file import LARGEST_PAPER_BYTES

MOST_AT_ONCE = 10
"""In one sending; common practice, no source."""


class PapersInput(forms.FileInput):
    """A control that takes several files."""

    allow_multiple_selected = True


class PapersField(forms.FileField):
    """Papers that may be kept, each checked by its content; cleans to a list of `CheckedPaper`."""

    widget = PapersInput

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Papers")
        kwargs.setdefault(
            "help_text",
            f"{ACCEPTED[:1].upper()}{ACCEPTED[1:]}; at most {LARGEST_PAPER_BYTES // 1024**2} MiB each and "
            f"{MOST_AT_ONCE} at once. Each is kept and handed out as it came, with all that stands in it.",
        )
        super().__init__(allow_empty_file=True, **kwargs)
        self.widget.attrs["accept"] = ",".join(SUFFIXES)

    def clean(self, data: Any, initial: Any = None) -> list[CheckedPaper]:
        """Check every paper, and tell of all that cannot be kept."""
        uploads = [one for one in data or [] if one is not None]
        if self.required and not uploads:
            raise ValidationError(self.error_messages["required"], code="required")
        if len(uploads) > MOST_AT_ONCE:
            raise ValidationError(
                f"Found {len(uploads)} papers; accepted: at most {MOST_AT_ONCE} at once. "
                "Send the others after."
            )
        checked: dict[str, CheckedPaper] = {}
        refused = []
        for upload in uploads:
            try:
                # What is too large is refused before it is read.
                check_paper_size(upload.size, LARGEST_PAPER_BYTES)
                paper = check_paper(upload.name or "", upload.read(), LARGEST_PAPER_BYTES)
            except PaperError as error:
                refused.append(ValidationError(f"{upload.name}: {words_of(error)}"))
            else:
                checked.setdefault(paper.sha256, paper)
        if refused:
            raise ValidationError(refused)
        return list(checked.values())
