"""What is asked about a pass that is logged for a moment after the crossings were watched in such a pass."""

from enum import StrEnum

from conflicts.checks import Assessed
from conflicts.hole_passes import PassInput
from conflicts.oddity import Oddity
from conflicts.sentences import station_words
from conflicts.watch_table import watch_table
from locates.local_time import format_moment


class WatchedBefore(StrEnum):
    """What the watches say of its moment."""

    WATCHED_BEFORE = "watched_before"


def watched_before(assessed: Assessed, one: PassInput) -> Oddity | None:
    """The question whether a pass is the one that was watched.

    Parameters
    ----------
    assessed : Assessed
        With the watches and passes before.
    one : PassInput
        The pass that is to be logged.

    Returns
    -------
    Oddity or None
        None where it asks for no watch that does not count without it.

    Notes
    -----
    A crew may log a pass once it is through and was watched line by line. Logged for that moment it would
    be another one, which goes by every line anew; logged for the moment at which it began it is the same.
    """
    job = assessed.scene.inputs.job
    from_m, to_m = one.reach_m
    found = [
        (row, passed.watch)
        for row in watch_table(assessed, None).rows
        for passed in row.passes
        if passed.pass_made == one.kind
        and passed.made_anew is None
        and passed.watch is not None
        and passed.watch.watched_at < one.made_at
        and from_m <= row.lies.to_m
        and to_m >= row.lies.from_m
    ]
    if not found:
        return None
    told = "; ".join(
        f"{row.lies.mark_ref} at {station_words(row.lies.station_m, job.show_units)} "
        f"{format_moment(watch.watched_at, job.time_zone)}"
        for row, watch in found
    )
    return Oddity(
        WatchedBefore.WATCHED_BEFORE,
        f"A {one.kind} was watched before this one: {told}. If it is the one that was watched, write when it "
        "began. If it is another, it is to be watched there again.",
    )
