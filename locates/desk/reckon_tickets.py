"""Keep what the lists show of tickets up to the records and to the clock."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from locates.models.ticket_reckoning import Reckoned, reckon_due, reckon_jobs

BATCH = 5000
"""Tickets a transaction: whoever saves a record of one of them waits for no more than these."""


def reckon_job(job_id: UUID) -> None:
    """Reckon the tickets of a job that changes, in the same transaction, so that no list is behind it."""
    reckon_jobs([job_id], timezone.now())


def sweep_due(at: datetime, batch: int = BATCH) -> Reckoned:
    """Reckon every ticket that time alone has changed, however long ago, a batch a transaction."""
    total = Reckoned()
    while True:
        with transaction.atomic():
            done = reckon_due(at, batch)
        if not done.tickets:
            return total
        total += done
