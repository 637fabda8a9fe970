"""Making a clearance record beside the pages, and finding what was forgotten.

What waits stands in PostgreSQL; the broker only rings the bell. So a killed worker or a lost message costs
seconds, and never a record.
"""

import logging
from hashlib import sha256

from django.db import connection

from conflicts.bell import MAKE_TASK
from conflicts.engine.errors import EngineError
from conflicts.models import Bore, RecordMaking
from conflicts.models.record_making import MakingPhase
from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.record.render import render_record
from locates.advisory_lock import advisory_lock
from locates.bell import ring

MOST_A_SWEEP = 20

logger = logging.getLogger(__name__)


def run(making_id: int) -> None:
    """Make the record that a row asks for; harmless where another has it in hand or did it.

    A fault is noted in the row and raised again: the sweep sees to the next attempt.
    """
    with advisory_lock(RecordMaking.LOCK_SPACE, making_id) as is_ours:
        row = RecordMaking.objects.begin(making_id) if is_ours else None
        if row is None:
            return
        try:
            _make(row)
        except (EngineError, Bore.DoesNotExist) as error:
            row.refuse(f"No record can be made: {error}")
        except Exception as error:
            connection.close_if_unusable_or_obsolete()
            row.note_fault(f"The record could not be made ({type(error).__name__}: {error}).")
            raise


def sweep() -> int:
    """Ring again for rows that nobody works on; gives how many."""
    found = RecordMaking.objects.call_out_forgotten(MOST_A_SWEEP)
    ring(MAKE_TASK, found)
    return len(found)


def _make(row: RecordMaking) -> None:
    row.tell(MakingPhase.READ)
    kept = read_kept_records(row.bore_id)
    row.tell(MakingPhase.DRAW)
    record = draw_record(kept)
    said_digest = record.said_digest()
    last = RecordMaking.objects.made_of(row.bore_id).first()
    if last is not None and last.said_digest == said_digest:
        row.finish(same_as=last)
        logger.info("Record of bore %s: nothing of it has changed since %s", row.bore_id, last.as_of)
        return
    row.tell(MakingPhase.LAY_OUT)
    made = render_record(record)
    row.tell(MakingPhase.KEEP)
    row.finish(
        as_of=record.as_of,
        said_digest=said_digest,
        inputs_digest=record.inputs_digest(),
        content=made.content,
        size_bytes=len(made.content),
        sha256=sha256(made.content).hexdigest(),
        page_count=made.page_count,
    )
    logger.info("Record of bore %s: made, %d pages", row.bore_id, made.page_count)
