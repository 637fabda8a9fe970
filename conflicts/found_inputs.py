"""What was found at a bore's lines: looks by camera, and reports of damage, as plain values."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class CameraInput:
    """A look into a line by camera; ``stage`` is "before" or "after" the bore."""

    mark_id: str
    stage: str
    inspected_at: datetime
    result: str


@dataclass(frozen=True)
class DamageInput:
    """A report of damage or of a near miss, of the bore or of its job as a whole."""

    kind: str
    happened_at: datetime
    entered_at: datetime


def last_camera(cameras: Sequence[CameraInput], mark_id: str, stage: str, at: datetime) -> CameraInput | None:
    """The last look into a line at a stage, as far as a moment knows of it.

    Parameters
    ----------
    cameras : sequence of CameraInput
        In order of time.
    mark_id : str
        Of the line.
    stage : str
        "before" or "after" the bore.
    at : datetime
    """
    looks = [
        one for one in cameras if (one.mark_id, one.stage) == (mark_id, stage) and one.inspected_at <= at
    ]
    return looks[-1] if looks else None
