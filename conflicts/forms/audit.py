"""What the safety manager looks for in the record of what was released, drilled and changed."""

from datetime import date
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django import forms
from django.db.models import Subquery

from conflicts.models import Verdict
from conflicts.models.audit_filters import AuditFilters


def _part(label: str, help_text: str) -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=200, help_text=help_text)


def _day(label: str) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=False,
        help_text="A day of the clock at the job, whole days.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        input_formats=["%Y-%m-%d"],
        error_messages={"invalid": "Accepted is a day such as 2026-11-05."},
    )


class AuditForm(forms.Form):
    """Filters of the audit, as the address holds them."""

    job = _part("Job", "Any part of its name.")
    bore = _part("Bore", "Any part of its name.")
    mark_ref = _part("Crossing", "Reference that its mark has or once had, such as G-1, whole.")
    person = _part("Person", "Any part of the name that was signed.")
    day_from = _day("From")
    day_to = _day("Until")
    verdict = forms.ChoiceField(
        label="Verdict",
        required=False,
        choices=[("", "every verdict"), *Verdict.choices],
        help_text="Of a crossing when its bore was released.",
        error_messages={"invalid_choice": "Accepted is a verdict of the list."},
    )

    def clean(self) -> dict[str, Any]:
        """Refuse a span of days that ends before it begins."""
        read = super().clean()
        begin, end = read.get("day_from"), read.get("day_to")
        if begin and end and end < begin:
            self.add_error("day_to", f"Found {end}, accepted is {begin} or later.")
        return read

    def filters(self, company: UUID | Subquery) -> AuditFilters:
        """What is looked for among a company's jobs; what cannot be read is left out."""
        read = self.cleaned_data
        days: dict[str, date | None] = {name: read.get(name) for name in ("day_from", "day_to")}
        words = {name: read.get(name, "") for name in ("job", "bore", "mark_ref", "person", "verdict")}
        return AuditFilters(company, **words, **days)

    def query(self) -> str:
        """The filters as an address has them."""
        return urlencode(
            {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}
        )
