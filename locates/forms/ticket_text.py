"""The form that takes the text of a confirmation, pasted or as a file, and the reader for it."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from locates.intake.ticket_text import LONGEST_TEXT
from locates.models import Job, TextReader

LARGEST_FILE_BYTES = 4 * LONGEST_TEXT  # UTF-8 takes four bytes for a character at most


class TicketTextForm(forms.Form):
    """A text or a file of it, and the reader."""

    reader = forms.ModelChoiceField(TextReader.objects.none(), label="Reader", empty_label=None)
    text = forms.CharField(
        label="Text of the confirmation",
        required=False,
        strip=False,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 14, "spellcheck": "false"}),
        help_text="Paste it here, or choose a file.",
    )
    file = forms.FileField(
        label="Text file",
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".txt,.text,text/plain"}),
        help_text="Plain text; a mail is saved as text first.",
    )

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.fields["reader"].queryset = TextReader.objects.filter(
            organisation=job.organisation_id, is_in_use=True
        ).order_by("name")

    def clean(self) -> dict[str, Any]:
        """Take the file's text where no text was pasted; refuse both, neither, and what is no text."""
        cleaned = super().clean()
        text, file = cleaned.get("text", ""), cleaned.get("file")
        if file is not None:
            if text.strip():
                raise ValidationError("Found a text and a file; accepted is one of the two.")
            cleaned["text"] = self._read(file)
        elif "text" not in self.errors and not text.strip():
            self.add_error("text", "Found nothing; accepted is the text of a confirmation, or a file of it.")
        return cleaned

    def _read(self, file: Any) -> str:
        if file.size > LARGEST_FILE_BYTES:
            self.add_error("file", f"found {file.size:,} bytes; accepted are at most {LARGEST_FILE_BYTES:,}.")
            return ""
        raw = file.read()
        for encoding in ("utf-8-sig", "cp1252"):
            try:
                text = raw.decode(encoding)
            except UnicodeDecodeError:
                continue
            if "\0" not in text and text.strip():
                return text
            break
        self.add_error("file", "found what is no plain text, or nothing; accepted is a file of plain text.")
        return ""
