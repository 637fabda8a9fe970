"""The check and the storing of a large file beside the pages: ask for it, do it, find what was forgotten.

What waits stands in PostgreSQL; the broker only rings the bell. So a killed worker or a lost message costs
seconds, and never half a file.
"""

import logging
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection
from django.utils import timezone

from locates.acting import acting
from locates.advisory_lock import advisory_lock
from locates.bell import ring, ring_on_commit
from locates.desk.bring_file import mapping_now, store_file, table_of, tables_of
from locates.desk.check_file import check_file, refused
from locates.errors import LocatesError
from locates.exchange.vector_progress import Phase, Told
from locates.models import ImportWork, Job, VectorImport
from locates.models.import_work import LOCK_SPACE, WorkKind

MOST_AT_ONCE = 1_000
"""Rows that a page checks or stores itself: under a second of one core. 10,000 take two to eight."""

MOST_A_SWEEP = 20
WORK_TASK = "locates.work_on_file"
SWEEP_WORK_TASK = "locates.sweep_import_work"

_TELL_EVERY_S = 0.3
_TELL = "UPDATE locates_importwork SET phase = %s, rows_done = %s WHERE id = %s AND attempts = %s"

logger = logging.getLogger(__name__)


def rows_of(brought: VectorImport) -> int:
    """How many rows the chosen layer of a file has."""
    return len(table_of(tables_of(brought), mapping_now(brought)).rows)


def ask_for(brought: VectorImport, kind: WorkKind) -> None:
    """Ask for the check or the storing of a file; where one waits or runs, that one stays."""
    ring_on_commit(WORK_TASK, ImportWork.objects.ask(brought.pk, kind, rows_of(brought)))


def is_being_stored(brought: VectorImport) -> bool:
    """Whether a file is on its way into the job, so that nothing of it can be chosen otherwise."""
    work = ImportWork.objects.of(brought.pk)
    return work is not None and work.is_waiting and work.kind == WorkKind.STORE


def run(work_id: int) -> None:
    """Do what a row asks for; harmless where another has it in hand or did it.

    A fault is noted in the row and raised again: the sweep sees to the next attempt.
    """
    with advisory_lock(LOCK_SPACE, work_id) as is_ours:
        row = ImportWork.objects.begin(work_id) if is_ours else None
        if row is None:
            return
        try:
            with _progress(row) as told:
                outcome = _done(row, told)
        except Exception as error:
            connection.close_if_unusable_or_obsolete()
            row.note_fault(f"The work could not be done ({type(error).__name__}: {error}).")
            raise
        row.finish(outcome)
        logger.info("File %s: %s done", row.brought_id, row.kind)


def sweep() -> int:
    """Ring again for rows that nobody works on; gives how many."""
    found = ImportWork.objects.call_out_forgotten(MOST_A_SWEEP)
    ring(WORK_TASK, found)
    return len(found)


def _done(row: ImportWork, told: Told) -> dict[str, Any]:
    brought = VectorImport.objects.select_related("job__organisation", "job__jurisdiction", "made_by").get(
        pk=row.brought_id
    )
    if row.kind == WorkKind.CHECK:
        return check_file(brought, Job.objects.with_grounds().get(pk=brought.job_id), told)
    try:
        with acting(f"task {WORK_TASK}", brought.made_by):
            store_file(brought, by=brought.made_by, at=timezone.now(), told=told)
    except LocatesError as error:
        return refused(error)
    return {}


@contextmanager
def _progress(row: ImportWork) -> Iterator[Told]:
    """What tells of the work's progress over a session of its own: others see it before the work commits."""
    session = connection.copy()
    last_s, last_phase = 0.0, ""

    def told(phase: Phase, rows: int) -> None:
        nonlocal last_s, last_phase
        now_s = time.monotonic()
        if phase == last_phase and now_s - last_s < _TELL_EVERY_S:
            return
        last_s, last_phase = now_s, phase
        with session.cursor() as cursor:
            cursor.execute(_TELL, [phase, rows, row.pk, row.attempts])

    try:
        yield told
    finally:
        session.close()
