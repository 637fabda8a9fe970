"""Keeping the stored figures of bores up to the records: queue, run and sweep.

What waits stands in PostgreSQL; the broker only rings the bell. So a killed worker, a lost message or a
broker that is down costs seconds, never a reassessment.
"""

import logging
from collections.abc import Iterable
from uuid import UUID

from django.db import connection

from conflicts.assess import store_assessment
from conflicts.bell import ring, ring_on_commit
from conflicts.engine.errors import EngineError
from conflicts.models import Reassessment
from conflicts.models.reassessment import LOCK_SPACE
from locates.advisory_lock import advisory_lock

MOST_A_SWEEP = 50

logger = logging.getLogger(__name__)


def queue_job(job_id: UUID) -> None:
    """Queue every bore of a job: one of its records changes in this transaction."""
    ring_on_commit(Reassessment.objects.queue_bores_of_job(job_id))


def queue_again(bore_ids: list[UUID]) -> None:
    """Queue bores because somebody says that what made them fail is mended."""
    ring_on_commit(Reassessment.objects.queue_again(bore_ids))


def queue_outdated(bore_ids: Iterable[UUID]) -> None:
    """Queue bores whose stored figures were found to be of older records, or not there.

    One that waits, runs or failed already stays as it is: asking does no harm, however often.
    """
    ring_on_commit(Reassessment.objects.queue_new(sorted(bore_ids)))


def run(reassessment_id: int) -> None:
    """Compute what a row asks for, until no change is left; harmless where another has it in hand or did it.

    A fault is noted in the row and raised again: the sweep sees to the next attempt.
    """
    with advisory_lock(LOCK_SPACE, reassessment_id) as is_ours:
        while is_ours and (row := Reassessment.objects.begin(reassessment_id)) is not None:
            _compute(row)


def _compute(row: Reassessment) -> None:
    try:
        stored = store_assessment(row.bore_id)
    except EngineError as error:
        logger.info("Bore %s cannot be computed: %s", row.bore_id, error)
        row.refuse(str(error))
    except Exception as error:
        connection.close_if_unusable_or_obsolete()
        row.note_fault(f"The figures could not be computed ({type(error).__name__}: {error}).")
        raise
    else:
        logger.info("Bore %s: %s", row.bore_id, "new figures stored" if stored else "figures were current")
        row.finish()


def sweep() -> int:
    """Ring again for rows that nobody works on, and queue bores that were never assessed; gives how many."""
    waiting = Reassessment.objects
    found = [*waiting.call_out_forgotten(MOST_A_SWEEP), *waiting.queue_never_assessed(MOST_A_SWEEP)]
    ring(found)
    return len(found)
