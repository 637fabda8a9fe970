"""Papers on a form: drawings, calculations, letters, several at once."""

from typing import Any

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from locates.exchange.paper_guard import (
    ACCEPTED,
    SUFFIXES,
    CheckedPaper,
    PaperError,
    check_paper,
    check_paper_size,
)
from locates.forms.files_field import MOST_AT_ONCE, FilesField
from locates.forms.response_paper import words_of
from locates.models.paper_file import LARGEST_PAPER_BYTES


class PapersField(FilesField[CheckedPaper]):
    """Papers that may be kept, each checked by its content."""

    things = "papers"

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Papers")
        kwargs.setdefault(
            "help_text",
            f"{ACCEPTED[:1].upper()}{ACCEPTED[1:]}; at most {LARGEST_PAPER_BYTES // 1024**2} MiB each and "
            f"{MOST_AT_ONCE} at once. Each is kept and handed out as it came, with all that stands in it.",
        )
        super().__init__(accept=",".join(SUFFIXES), **kwargs)

    def checked(self, upload: UploadedFile) -> CheckedPaper:
        """One paper; what is too large is refused before it is read."""
        try:
            check_paper_size(upload.size, LARGEST_PAPER_BYTES)
            return check_paper(upload.name or "", upload.read(), LARGEST_PAPER_BYTES)
        except PaperError as error:
            raise ValidationError(f"{upload.name}: {words_of(error)}") from error
