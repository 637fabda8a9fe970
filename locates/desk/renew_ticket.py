"""The draft of a renewal or a re-mark, with what its predecessor told the centre."""

from locates.models import FacilityOperator, Ticket
from locates.models.ticket import TicketKind

KINDS = (TicketKind.RENEWAL, TicketKind.RE_MARK)


def draft_successor(ticket: Ticket, kind: TicketKind) -> Ticket:
    """An unsaved ticket that renews or re-marks another: number and times are for the centre to give.

    Whether the boring was declared and the path painted white is left open: nobody has told the centre anew,
    and paint wears off.
    """
    return Ticket(
        job=ticket.job,
        ticket_kind=kind,
        previous_number=ticket.number,
        called_by=ticket.called_by,
        stated_depth_m=ticket.stated_depth_m,
        stated_method=ticket.stated_method,
        area=ticket.area,
    )


def operators_told(ticket: Ticket) -> list[FacilityOperator]:
    """The operators that a ticket was told to, whatever they answered, by name."""
    on_ticket = ticket.responses.values("operator")
    return list(FacilityOperator.objects.filter(pk__in=on_ticket).order_by("name"))
