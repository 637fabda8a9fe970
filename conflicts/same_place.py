"""Whether two crossings of a bore are at one place of one line."""

from conflicts.inputs import JobInput
from conflicts.rod_log import MetLine
from conflicts.site_records import CrossingExtent


def may_be_off_m(job: JobInput) -> float:
    """How far the same place may be off: by what the bore steers beside, and by the tolerance zone.

    Parameters
    ----------
    job : JobInput
    """
    return job.bore_horizontal_m + job.tolerance_zone_m


def is_same_place(one: CrossingExtent, other: CrossingExtent | MetLine, near_m: float) -> bool:
    """Whether two crossings are of one line and reach to each other; half passed, one may look alongside.

    Parameters
    ----------
    one : CrossingExtent
    other : CrossingExtent or MetLine
        Both by stations of the plan.
    near_m : float
        From `may_be_off_m`.
    """
    return (
        one.mark_id == other.mark_id
        and one.from_m <= other.to_m + near_m
        and one.to_m >= other.from_m - near_m
    )
