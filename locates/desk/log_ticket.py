"""Save a ticket; whom the centre told of a new one is awaited from then on."""

from collections.abc import Iterable

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.changes import job_changed
from locates.desk.save_record import named, save_record
from locates.errors import RetiredMeanwhileError
from locates.models import FacilityOperator, Response, ResponseKind, Ticket


def log_ticket(
    ticket: Ticket,
    *,
    by: AbstractBaseUser,
    opened_version: int | None = None,
    operators: Iterable[FacilityOperator] = (),
) -> None:
    """Save a ticket, new or opened at a version, and begin the history of each operator that was told.

    Errors are those of `save_record`; an operator that was retired meanwhile is one.
    """
    with transaction.atomic():
        save_record(ticket, by=by, opened_version=opened_version)
        told = list(operators)
        if not told:
            return
        live = set(FacilityOperator.objects.filter(job=ticket.job_id).values_list("pk", flat=True))
        for operator in told:
            if operator.pk not in live:
                raise RetiredMeanwhileError(named(operator))
        place = Response.objects.next_sequence(ticket)
        Response.objects.bulk_create(
            Response(
                ticket=ticket,
                operator=operator,
                response=ResponseKind.AWAITING,
                sequence=place + index,
                edited_by=by,
            )
            for index, operator in enumerate(told)
        )
        job_changed(ticket.job_id)
