"""The form of what an operator answered on a ticket."""

from typing import Any, ClassVar

from django.utils import timezone

from locates.forms.record_form import RecordForm
from locates.models import Response, ResponseKind


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
        answered_at = cleaned.get("responded_at")
        if answered_at is None:
            return cleaned
        if cleaned.get("response") == ResponseKind.AWAITING:
            self.add_error("responded_at", "Who is awaited has not answered: leave this empty.")
        elif answered_at > timezone.now():
            self.add_error("responded_at", "That time is still to come: write when the operator answered.")
        elif answered_at < self.instance.ticket.called_at:
            self.add_error("responded_at", "That is before the ticket was called in: look at the day again.")
        return cleaned
