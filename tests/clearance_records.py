"""A bore's clearance record without the worker that makes it."""

from datetime import datetime
from uuid import UUID

from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.record.sheet import ClearanceRecord


def read_clearance_record(bore_id: UUID | str, at: datetime | None = None) -> ClearanceRecord:
    """The clearance record of a bore at a moment, as it is read and drawn."""
    return draw_record(read_kept_records(bore_id, at))
