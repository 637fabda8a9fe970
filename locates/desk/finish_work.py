"""Say that a ticket's work is over, so that no renewal is wanted; or that it is not after all."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.changes import job_changed
from locates.desk.save_record import hold_job
from locates.models import Ticket


def finish_work(ticket_id: UUID, *, by: AbstractBaseUser, at: datetime) -> Ticket:
    """Note that the work of a ticket is over; said twice, the first counts.

    Raises ``Ticket.DoesNotExist`` where there is no live ticket, `RetiredMeanwhileError` where its job is
    retired, ``ValidationError`` where the ticket was called in after the moment.
    """
    return _say(ticket_id, by=by, at=at)


def resume_work(ticket_id: UUID, *, by: AbstractBaseUser) -> Ticket:
    """Take back that the work of a ticket is over; errors as `finish_work`."""
    return _say(ticket_id, by=by, at=None)


def _say(ticket_id: UUID, *, by: AbstractBaseUser, at: datetime | None) -> Ticket:
    with transaction.atomic():
        hold_job(Ticket.objects.values_list("job", flat=True).get(pk=ticket_id))
        ticket = Ticket.objects.select_for_update().get(pk=ticket_id)
        if (ticket.work_finished_at is None) == (at is None):
            return ticket
        ticket.work_finished_at, ticket.work_finished_by = at, (None if at is None else by)
        ticket.edited_by = by
        ticket.validate_constraints()
        ticket.save(update_fields=["work_finished_at", "work_finished_by", "edited_by"])
        job_changed(ticket.job_id)
    return ticket
