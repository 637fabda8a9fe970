"""Whether a camera's look into a line before the bore still counts, with when it was, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from conflicts.crossings import stale_since
from conflicts.found_inputs import CameraInput, last_camera
from conflicts.inputs import MarkInput
from conflicts.walk_days import local_day
from locates.local_time import format_moment

BEFORE = "before"
SAW = {"damage": "it saw damage, or a conduit in the line", "not_conclusive": "it was not conclusive"}


@dataclass(frozen=True)
class LookBefore:
    """The last look into a line before the bore; ``words`` are empty where nobody looked.

    ``key`` is what is told of it but for how long ago it was.
    """

    counts: bool
    key: str = ""
    words: str = ""


def look_before(cameras: Sequence[CameraInput], mark: MarkInput, at: datetime, time_zone: str) -> LookBefore:
    """The last look into a line before the bore, as it counts at a moment.

    Parameters
    ----------
    cameras : sequence of CameraInput
        In order of time.
    mark : MarkInput
        Of the line.
    at : datetime
    time_zone : str
        IANA name.

    Returns
    -------
    LookBefore

    Notes
    -----
    It goes stale as an exposure does: where the line was re-marked since, or its mark is reported gone. There
    is no age after which it does, so its age is told.
    """
    look = last_camera(cameras, mark.mark_id, BEFORE, at)
    if look is None:
        return LookBefore(counts=False)
    when = format_moment(look.inspected_at, time_zone)
    days = (local_day(at, time_zone) - local_day(look.inspected_at, time_zone)).days
    age = {0: "today", 1: "1 day ago"}.get(days, f"{days} days ago")
    why_not = SAW.get(look.result, "")
    if not why_not:
        why_not = stale_since(mark, look.inspected_at, time_zone) or ""
    if not why_not:
        told = f"{mark.ref} is not exposed; a camera looked into it before the bore, {when}"
        return LookBefore(counts=True, key=f"{told}.", words=f"{told}, {age}.")
    told = f"A camera looked into {mark.ref} {when}"
    no_more = f"and that does not count: {why_not}."
    return LookBefore(counts=False, key=f"{told}, {no_more}", words=f"{told}, {age}, {no_more}")
