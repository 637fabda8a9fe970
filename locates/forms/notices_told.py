"""What the safety manager looks for among all that people were told."""

from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib.auth import get_user_model
from django.db.models import Exists, OuterRef

from locates.models import Notice, organisation_of
from locates.models.told_queries import ToldFilters


def _day(label: str) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=False,
        help_text="In the time of the job.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        input_formats=["%Y-%m-%d"],
        error_messages={"invalid": "Accepted is a day such as 2026-11-05."},
    )


class ToldForm(forms.Form):
    """Filters of the record, as the address holds them."""

    person = forms.ModelChoiceField(
        queryset=None,
        required=False,
        empty_label="everybody",
        error_messages={"invalid_choice": "Accepted is somebody of the list, who was told of something."},
    )
    job = forms.CharField(label="Job", required=False, max_length=100)
    ticket = forms.CharField(label="Ticket number", required=False, max_length=100)
    day_from = _day("Told from")
    day_to = _day("Told to")

    def __init__(self, data: object, viewer_id: int | None) -> None:
        super().__init__(data)
        self.viewer_id = viewer_id
        ours = Notice.objects.filter(job__organisation_id=organisation_of(viewer_id))
        was_told = ours.filter(person=OuterRef("pk")).exclude(words="")
        people = get_user_model().objects.filter(Exists(was_told)).order_by("username")
        self.fields["person"].queryset = people

    def clean(self) -> dict[str, Any]:
        """Refuse a span of days that ends before it begins."""
        read = super().clean()
        begin, end = read.get("day_from"), read.get("day_to")
        if begin and end and end < begin:
            self.add_error("day_to", f"Found {end}, accepted is {begin} or later.")
        return read

    def filters(self) -> ToldFilters:
        """What is looked for; what cannot be read is left out."""
        read = self.cleaned_data
        person = read.get("person")
        return ToldFilters(
            viewer_id=self.viewer_id,
            person_id=person.pk if person else None,
            job=read.get("job", ""),
            ticket=read.get("ticket", ""),
            day_from=read.get("day_from"),
            day_to=read.get("day_to"),
        )

    def query(self) -> str:
        """The filters as an address has them."""
        read = {**self.cleaned_data}
        if read.get("person"):
            read["person"] = read["person"].pk
        return urlencode({name: value for name, value in read.items() if value not in ("", None)})
