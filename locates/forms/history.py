"""Which changes of a job a person looks for."""

from typing import Any
from urllib.parse import urlencode

from django import forms

from locates.desk.history_sheet import HistoryFilters, kinds_of_records


class HistoryForm(forms.Form):
    """Filters of a job's history, as the address holds them."""

    kind = forms.ChoiceField(
        label="Kind of record",
        required=False,
        error_messages={"invalid_choice": "Accepted is a kind of the list."},
    )
    record = forms.UUIDField(
        label="One record",
        required=False,
        help_text="Its id; the link beside a change fills it in.",
        error_messages={"invalid": "Accepted is the id of a record, 32 hexadecimal digits."},
    )
    person = forms.CharField(label="Person", required=False, max_length=100, help_text="A part of the name.")

    def __init__(self, data: object) -> None:
        super().__init__(data)
        self.fields["kind"].choices = [("", "all kinds"), *kinds_of_records()]

    def filters(self) -> HistoryFilters:
        """What can be read of it."""
        found: dict[str, Any] = getattr(self, "cleaned_data", {})
        return HistoryFilters(found.get("kind", ""), found.get("record"), found.get("person", ""))

    def query(self) -> str:
        """The same as a query of an address, without what is empty."""
        return urlencode({name: value for name, value in self.cleaned_data.items() if value})
