"""The form of a paper that came with an answer."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from locates.exchange.paper_guard import ACCEPTED, LONGEST_NAME, SUFFIXES, PaperError, check_paper_size
from locates.models.paper_file import LARGEST_PAPER_BYTES


class PaperForm(forms.Form):
    """One file."""

    file = forms.FileField(
        label="File",
        help_text=f"{ACCEPTED[:1].upper()}{ACCEPTED[1:]}; at most {LARGEST_PAPER_BYTES // 1024**2} MiB.",
        widget=forms.FileInput(attrs={"accept": ",".join(SUFFIXES)}),
        allow_empty_file=True,
        max_length=LONGEST_NAME,
    )

    def clean_file(self) -> Any:
        """Refuse what is too large before it is read."""
        found = self.cleaned_data["file"]
        try:
            check_paper_size(found.size, LARGEST_PAPER_BYTES)
        except PaperError as error:
            raise ValidationError(words_of(error)) from error
        return found


def words_of(error: PaperError) -> str:
    """An error as a sentence."""
    return f"{str(error)[:1].upper()}{str(error)[1:]}."
