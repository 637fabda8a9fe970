"""Keeping the stored figures of bores up to the records: queue, run, sweep, and say where a bore stands.

What waits stands in PostgreSQL; the broker only rings the bell. So a killed worker, a lost message or a
broker that is down costs seconds, never a reassessment.
"""

import logging
from typing import NamedTuple
from uuid import UUID

from django.db import connection

from conflicts.advisory_lock import advisory_lock
from conflicts.assess import store_assessment, stored_figures
from conflicts.bell import ring, ring_on_commit
from conflicts.engine.errors import EngineError
from conflicts.models import Bore, Reassessment
from conflicts.models.reassessment import LOCK_SPACE, STATES_TO_WORK_ON

MOST_A_SWEEP = 50

logger = logging.getLogger(__name__)


class Standing(NamedTuple):
    """Where a bore's figures stand: "current", "queued", "running" or "failed", and then why."""

    state: str
    failure: str = ""


def queue_job(job_id: UUID) -> None:
    """Queue every bore of a job: one of its records changes in this transaction."""
    ring_on_commit(Reassessment.objects.queue_bores_of_job(job_id))


def queue_bore(bore_id: UUID) -> None:
    """Queue a bore whose stored figures were found to be of older records, or not there.

    One that waits or runs already stays as it is, and so does one that was given up: asking does no harm.
    """
    ring_on_commit(Reassessment.objects.queue_idle([bore_id]))


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


def state_of(bore: Bore) -> Standing:
    """Where a bore's figures stand; those that are not current and not in hand yet are queued by asking."""
    row = Reassessment.objects.filter(bore=bore).first()
    if row is None:
        if stored_figures(bore) is not None:
            return Standing("current")
        queue_bore(bore.pk)
        return Standing("queued")
    if row.state in STATES_TO_WORK_ON:
        return Standing(row.state)
    return Standing("failed", row.failure)
