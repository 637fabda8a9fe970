"""The bell for bores: a message to the workers that one waits."""

from collections.abc import Iterable
from uuid import UUID

from locates import bell

REASSESS_TASK = "conflicts.reassess"
QUEUE_OUTDATED_TASK = "conflicts.queue_outdated"
SWEEP_TASK = "conflicts.sweep"
MAKE_TASK = "conflicts.make_record"
SWEEP_RECORDS_TASK = "conflicts.sweep_records"


def ring_on_commit(reassessment_ids: Iterable[int]) -> None:
    """Ring for rows once what was written about them can be seen by others."""
    bell.ring_on_commit(REASSESS_TASK, reassessment_ids)


def ring(reassessment_ids: Iterable[int]) -> None:
    """Tell the workers that these rows wait."""
    bell.ring(REASSESS_TASK, reassessment_ids)


def ring_for_bores(bore_ids: Iterable[UUID]) -> None:
    """Tell the workers of bores whose stored figures are of older records, or not there."""
    bell.ring_on_commit(QUEUE_OUTDATED_TASK, map(str, bore_ids))
