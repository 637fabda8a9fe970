"""The form of a one-call ticket."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, ClassVar

from django import forms
from django.contrib.gis.geos import MultiPolygon
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.urls import reverse

from locates.desk.log_ticket import log_ticket
from locates.exchange.vector_whereabouts import whereabouts
from locates.forms.form_page import FormPage, section_of
from locates.forms.record_form import Group, RecordForm
from locates.forms.ticket_dating import Dating
from locates.models import FacilityOperator, Job, Ticket

TOLD_HELP = (
    "Those that the centre says it told: each is awaited from then on. One that is missing here is added on "
    "the page of the job."
)


class TicketForm(RecordForm):
    """A ticket with its dates, its declarations, its work area and, while it is new, whom the centre told."""

    operators = forms.ModelMultipleChoiceField(
        FacilityOperator.objects.order_by("name"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Operators notified",
        help_text=TOLD_HELP,
    )

    groups = (
        ("Ticket", ("number", "ticket_kind", "previous_number")),
        ("Notice", ("called_by", "called_at", "wanted_start_at")),
        ("Declared", ("white_lined", "boring_declared", "stated_depth_m", "stated_method")),
        ("Operators", ("operators",)),
        (
            "Dates",
            (
                "response_due_at",
                "legal_start_at",
                "latest_start_at",
                "renew_by",
                "expires_at",
                "override_reason",
            ),
        ),
        ("Work area", ("area",)),
    )

    class Meta(RecordForm.Meta):
        """What a person writes of a ticket."""

        model = Ticket
        fields = (
            "number",
            "ticket_kind",
            "previous_number",
            "called_by",
            "called_at",
            "wanted_start_at",
            "white_lined",
            "boring_declared",
            "stated_depth_m",
            "stated_method",
            "response_due_at",
            "legal_start_at",
            "latest_start_at",
            "renew_by",
            "expires_at",
            "override_reason",
            "area",
        )
        labels: ClassVar = {
            "previous_number": "Renews or re-marks",
            "boring_declared": "Boring declared",
            "stated_depth_m": "Depth stated",
            "override_reason": "Why the dates were set by hand",
            "area": "Corners of the work area",
        }
        help_texts: ClassVar = {
            "number": "As the one-call centre gave it.",
            "previous_number": "Number of the earlier ticket, if any.",
            "called_by": "Who gave the notice.",
            "wanted_start_at": "Start that the notice asks for, if it names one.",
            "white_lined": "Was the path painted white before the locators came?",
            "boring_declared": "Did the notice say that the work is trenchless?",
            "stated_depth_m": "Greatest depth that the notice names.",
            "stated_method": "How the notice says that the work is done.",
            "override_reason": "Asked for where a date is another than was worked out.",
            "area": (
                "A corner a line, latitude first: 38.030125, -78.480310. A blank line begins another area. "
                "GeoJSON is taken as well."
            ),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["operators"].empty_label = None  # several are chosen, and no choice needs no words
        if not self.instance._state.adding:
            # Who was told stands in the history of answers by now.
            del self.fields["operators"]
        self.dating = Dating(self)

    @classmethod
    def as_typed(cls, data: QueryDict, *, instance: Ticket, job: Job) -> "TicketForm":
        """The form as it was typed, with nothing checked yet."""
        form = cls(instance=instance, job=job)
        form.initial |= {name: data.get(name, "") for name in form.fields}
        if "operators" in form.fields:
            form.initial["operators"] = data.getlist("operators")
        if data.get("shown_dates"):
            form.dating.show(data)
        return form

    def grouped(self) -> list[Group]:
        """Headings and fields, but for a heading with no field under it."""
        return [group for group in super().grouped() if group.fields]

    def details(self) -> dict[str, Any]:
        """Whom the centre told of a new ticket."""
        return {"operators": self.cleaned_data["operators"]} if "operators" in self.fields else {}

    def clean_called_at(self) -> datetime:
        """Refuse a call that is still to come."""
        called_at = self.cleaned_data["called_at"]
        self.dating.refuse_call_to_come(called_at)
        return called_at

    def clean_area(self) -> MultiPolygon:
        """Refuse a work area too far from the job's bores: a sign or an order of corners went wrong."""
        area = self.cleaned_data["area"]
        found = whereabouts(self.instance.job, [{"type": area.geom_type, "coordinates": area.coords}], [])
        if found.is_impossible:
            raise ValidationError(f"{found.words} Accepted are corners near the job, latitude first.")
        return area

    def clean(self) -> dict[str, Any]:
        """Take the dates that were worked out where nobody wrote another."""
        return self.dating.settled(super().clean())


def ticket_page(ticket: Ticket, context: Mapping[str, Any] | None = None) -> FormPage:
    """The page of a ticket's form, new or stored."""
    is_new = ticket._state.adding
    return FormPage(
        "New ticket" if is_new else f"Edit ticket {ticket.number}",
        section_of(ticket.job_id, "tickets"),
        save=log_ticket,
        template="locates/ticket_form.html",
        context={"stored_ticket": None if is_new else ticket.pk, **(context or {})},
        action=reverse("locates:ticket-add", args=[ticket.job_id])
        if is_new
        else reverse("locates:ticket-edit", args=[ticket.pk]),
    )
