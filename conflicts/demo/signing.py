"""Signed records of the demo that no form has to ask about: stored with their entry, as a page does."""

from typing import TypeVar

from django.contrib.auth.models import User
from django.db import transaction

from conflicts.models.signed import SignedRecord
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job

Record = TypeVar("Record", bound=SignedRecord)


def sign(record: Record, *, by: User) -> Record:
    """Store a record and enter it into the ledger, in one transaction."""
    with transaction.atomic():
        hold_job(record.home_job_id)
        record.save(force_insert=True)
        enter(record, by=by)
    return record
