"""What was logged of a bore after it was closed out: the close-out's signer knew nothing of it."""

from conflicts.checks import Assessed
from locates.local_time import format_moment
from locates.units import format_length


def logged_since(assessed: Assessed) -> str:
    """One sentence on the passes and pull-backs that were logged since a bore was closed out.

    Parameters
    ----------
    assessed : Assessed

    Returns
    -------
    str
        Empty where there is nothing, and of a bore that is not closed out.
    """
    site, job = assessed.site, assessed.scene.inputs.job
    closed_at = site.closed_out_at
    if closed_at is None or closed_at > assessed.at:
        return ""
    passes = [
        f"a {one.kind} of {format_length(one.diameter_m, job.show_units)}, made "
        f"{format_moment(one.made_at, job.time_zone)}"
        for one in site.passes.passes
        if closed_at < one.logged_at <= assessed.at
    ]
    pulled = [
        f"rods pulled back from rod {one.number} on, {format_moment(one.withdrawn_at, job.time_zone)}"
        for one in site.pulled_back
        if closed_at < one.withdrawn_at <= assessed.at
    ]
    told = "; ".join([*passes, *pulled])
    return f"Logged since, and no part of what was signed: {told}." if told else ""
