"""What speaks against a bore that is closed out besides its watches: what a camera saw, damage reported."""

from conflicts.checks import Assessed
from conflicts.found_inputs import last_camera
from locates.local_time import format_moment

AFTER = "after"
SAW = {
    "damage": "saw damage, or a conduit, in",
    "not_conclusive": "showed nothing conclusive of",
}
REPORTED = {"damage": "Damage was reported since", "near_miss": "A near miss was reported since"}


def found_since(assessed: Assessed) -> tuple[str, ...]:
    """Sentences on what was found of a bore that is closed out; none of one that is not.

    Parameters
    ----------
    assessed : Assessed

    Notes
    -----
    Of each line the last look after the bore counts. A report counts from when it was entered.
    """
    closed_at = assessed.site.closed_out_at
    if closed_at is None or closed_at > assessed.at:
        return ()
    return (*_looks(assessed), *_reports(assessed))


def _looks(assessed: Assessed) -> list[str]:
    zone = assessed.scene.inputs.job.time_zone
    inputs = assessed.scene.inputs
    refs = {mark.mark_id: mark.ref for mark in (*inputs.marks, *inputs.marks_beside)}
    refs |= {one.mark_id: one.mark_ref for one in assessed.site.watches}
    told = []
    for mark_id in dict.fromkeys(one.mark_id for one in assessed.site.cameras):
        look = last_camera(assessed.site.cameras, mark_id, AFTER, assessed.at)
        if look is not None and look.result in SAW:
            name = refs.get(mark_id, "a line that is not there any more")
            when = format_moment(look.inspected_at, zone)
            told.append(
                f"The camera {SAW[look.result]} {name}, {when}, and no later look shows it without damage: "
                "tell the safety manager and whoever owns the line."
            )
    return told


def _reports(assessed: Assessed) -> list[str]:
    zone, closed_at = assessed.scene.inputs.job.time_zone, assessed.site.closed_out_at
    return [
        f"{REPORTED[one.kind]}, as it happened {format_moment(one.happened_at, zone)}."
        for one in assessed.site.reports
        if closed_at is not None and closed_at < one.entered_at <= assessed.at
    ]
