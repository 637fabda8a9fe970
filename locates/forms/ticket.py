"""The form of a one-call ticket."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django.urls import reverse

from locates.forms.form_page import FormPage, section_of
from locates.forms.record_form import RecordForm
from locates.models import Ticket


class TicketForm(RecordForm):
    """A ticket with its dates, its declarations and its work area."""

    groups = (
        ("Ticket", ("number", "ticket_kind", "previous_number", "white_lined", "boring_declared")),
        ("Dates", ("called_at", "legal_start_at", "expires_at", "override_reason")),
        ("Work area", ("area",)),
    )

    class Meta(RecordForm.Meta):
        """What a person writes of a ticket."""

        model = Ticket
        fields = (
            "number",
            "ticket_kind",
            "previous_number",
            "white_lined",
            "boring_declared",
            "called_at",
            "legal_start_at",
            "expires_at",
            "override_reason",
            "area",
        )
        labels: ClassVar = {
            "previous_number": "Renews or re-marks",
            "boring_declared": "Boring declared",
            "override_reason": "Why the dates were set by hand",
            "area": "Corners of the work area",
        }
        help_texts: ClassVar = {
            "number": "As the one-call centre gave it.",
            "previous_number": "Number of the earlier ticket, if any.",
            "white_lined": "Was the path painted white before the locators came?",
            "boring_declared": "Did the notice say that the work is trenchless?",
            "legal_start_at": "As the one-call centre said. Without it the ticket is not in force.",
            "expires_at": "As the one-call centre said. Without it the ticket is not in force.",
            "area": (
                "A corner a line, latitude first: 38.030125, -78.480310. A blank line begins another area. "
                "GeoJSON is taken as well."
            ),
        }


def ticket_page(ticket: Ticket, context: Mapping[str, Any] | None = None) -> FormPage:
    """The page of a ticket's form, new or stored."""
    is_new = ticket._state.adding
    return FormPage(
        "New ticket" if is_new else f"Edit ticket {ticket.number}",
        section_of(ticket.job_id, "tickets"),
        template="locates/ticket_form.html",
        context={"stored_ticket": None if is_new else ticket.pk, **(context or {})},
        action=reverse("locates:ticket-add", args=[ticket.job_id])
        if is_new
        else reverse("locates:ticket-edit", args=[ticket.pk]),
    )
