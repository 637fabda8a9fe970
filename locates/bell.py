"""The bell: a message to the workers that a row waits. It may be lost; the row in PostgreSQL is not."""

import logging
from collections.abc import Iterable
from functools import partial

from django.db import transaction
from kombu.exceptions import OperationalError

from config.celery import app

# Once more where a kept connection proves dead, then no longer: somebody waits for the page.
PATIENCE = {"max_retries": 1, "interval_start": 0, "interval_step": 0}

logger = logging.getLogger(__name__)


def ring_on_commit(task: str, row_ids: Iterable[int | str]) -> None:
    """Ring for rows once what was written about them can be seen by others."""
    transaction.on_commit(partial(ring, task, list(row_ids)))


def ring(task: str, row_ids: Iterable[int | str]) -> None:
    """Tell the workers that a task waits for rows; where no broker answers, the next sweep tells them."""
    try:
        for one in row_ids:
            app.send_task(task, args=[one], retry_policy=PATIENCE)
    except (OperationalError, OSError) as error:  # the broker of files lets the system's own errors through
        logger.warning("The broker cannot be reached (%s); what waits is found by the next sweep.", error)
