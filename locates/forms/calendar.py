"""Which part of the calendar to show."""

from datetime import date
from typing import Any

from django import forms

from locates.models import Job

VIEWS = (("month", "month"), ("agenda", "agenda"))
EARLIEST_YEAR, LATEST_YEAR = 1990, 2100


class CalendarForm(forms.Form):
    """Month or day, the way of showing it, and a job."""

    job = forms.ModelChoiceField(
        label="Job",
        queryset=Job.objects.none(),
        required=False,
        empty_label="all jobs",
        error_messages={"invalid_choice": "Found no such job; accepted is one of the list."},
    )
    view = forms.ChoiceField(label="Show as", choices=VIEWS, required=False)
    month = forms.CharField(label="Month", required=False, help_text="As 2026-11.")
    begin = forms.DateField(
        label="From",
        required=False,
        widget=forms.HiddenInput,
        error_messages={"invalid": "Accepted is a day such as 2026-11-05."},
    )

    def __init__(self, data: object, viewer_id: int | None) -> None:
        super().__init__(data)
        self.fields["job"].queryset = Job.objects.seen_by(viewer_id).order_by("name")

    def clean_month(self) -> date | None:
        """The first day of the month that was written."""
        text = self.cleaned_data["month"].strip()
        if not text:
            return None
        year, dash, month = text.partition("-")
        digits = year + month
        is_written = bool(dash) and len(text) == 7 and digits.isascii() and digits.isdecimal()
        if is_written and 1 <= int(month) <= 12 and EARLIEST_YEAR <= int(year) <= LATEST_YEAR:
            return date(int(year), int(month), 1)
        raise forms.ValidationError(
            f"Found {text!r}; accepted is a month from {EARLIEST_YEAR} to {LATEST_YEAR} such as 2026-11."
        )

    def clean_begin(self) -> date | None:
        """A day whose month the calendar can show."""
        day = self.cleaned_data["begin"]
        if day is not None and not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
            raise forms.ValidationError(f"Accepted is a day from {EARLIEST_YEAR} to {LATEST_YEAR}.")
        return day

    def chosen(self, name: str) -> Any:
        """What was chosen in a field that is sound; None else, so that one bad field leaves the others."""
        return self.cleaned_data.get(name) or None


class CalendarAddressForm(forms.Form):
    """What the private address is to hold."""

    followed_only = forms.TypedChoiceField(
        label="What it holds",
        choices=(("no", "the tickets of every job of my company"), ("yes", "only what I follow")),
        coerce=lambda text: text == "yes",
    )
