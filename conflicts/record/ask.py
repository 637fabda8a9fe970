"""Asking for a clearance record, which a worker makes beside the pages."""

from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from conflicts.bell import MAKE_TASK
from conflicts.models import Bore, RecordMaking
from locates.bell import ring_on_commit
from locates.desk.save_record import named
from locates.errors import RetiredMeanwhileError


def ask_for_record(bore: Bore, request_id: UUID, *, by: AbstractBaseUser) -> RecordMaking:
    """Ask for the clearance record of a bore; where one waits or is being made, that one stays.

    Raises `RetiredMeanwhileError` where the bore is retired.
    """
    name = by.get_full_name() or by.get_username()
    with transaction.atomic():
        # One after the other, so that of two who ask at once the second finds what the first asked for.
        if Bore.objects.select_for_update(no_key=True).filter(pk=bore.pk).first() is None:
            raise RetiredMeanwhileError(named(bore))
        row, is_new = RecordMaking.objects.ask(bore.pk, request_id, by=by, by_name=name)
        if is_new:
            ring_on_commit(MAKE_TASK, [row.pk])
    return row
