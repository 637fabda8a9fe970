"""Add what an operator answered to the history of a ticket."""

from uuid import uuid4

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from locates.desk.save_record import hold_job, save_record
from locates.models import Response, ResponseKind


def record_response(response: Response, *, by: AbstractBaseUser, opened_version: int | None = None) -> None:
    """Put an answer at the end of its ticket's history; one without a time has come just now.

    A new one whose id is stored already was sent twice: it is stored once.
    Where an answer on another ticket has its id, it gets one of its own. Errors are those of `save_record`.
    """
    with transaction.atomic():
        # Whoever else answers on this job at this moment waits, so that no place is given twice.
        hold_job(response.home_job_id)
        if response._state.adding:
            there = Response.with_retired.filter(pk=response.pk).first()
            if there is not None and there.ticket_id == response.ticket_id:
                return
            if there is not None:
                response.pk = uuid4()
        response.sequence = Response.objects.next_sequence(response.ticket)
        if response.responded_at is None and response.response != ResponseKind.AWAITING:
            response.responded_at = timezone.now()
        save_record(response, by=by, opened_version=opened_version)
