"""The form of what an operator answered on a ticket."""

from typing import Any, ClassVar

from locates.forms.record_form import RecordForm
from locates.models import Response, ResponseKind


class ResponseForm(RecordForm):
    """One more answer in a ticket's history; an earlier one is never rewritten."""

    filled_in = ("ticket",)

    class Meta(RecordForm.Meta):
        """What a person writes of an answer."""

        model = Response
        fields = ("operator", "response", "responded_at", "note")
        labels: ClassVar = {"responded_at": "Answered"}
        help_texts: ClassVar = {"responded_at": "Empty: just now."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["operator"].widget.attrs["autofocus"] = True
        self.fields["note"].widget.attrs["rows"] = 2

    def clean(self) -> dict[str, Any]:
        """Refuse a time of an answer that has not come."""
        cleaned = super().clean()
        if cleaned.get("response") == ResponseKind.AWAITING and cleaned.get("responded_at"):
            self.add_error("responded_at", "Who is awaited has not answered: leave this empty.")
        return cleaned
