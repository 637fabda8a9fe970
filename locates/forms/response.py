"""The form of what an operator answered on a ticket."""

from typing import Any, ClassVar

from django.utils import timezone

from locates.answers import untimely_words
from locates.forms.record_form import RecordForm
from locates.models import Response


class ResponseForm(RecordForm):
    """One more answer in a ticket's history; an earlier one is never rewritten."""

    filled_in = ("ticket",)

    class Meta(RecordForm.Meta):
        """What a person writes of an answer."""

        model = Response
        fields = ("operator", "response", "responded_at", "answered_by", "note")
        labels: ClassVar = {"responded_at": "Answered"}
        help_texts: ClassVar = {"responded_at": "Empty: just now."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["note"].widget.attrs["rows"] = 2

    def clean(self) -> dict[str, Any]:
        """Refuse a time of an answer that has not come."""
        cleaned = super().clean()
        answered_at, called_at = cleaned.get("responded_at"), self.instance.ticket.called_at
        words = untimely_words(cleaned.get("response", ""), answered_at, called_at, timezone.now())
        if words:
            self.add_error("responded_at", words)
        return cleaned
