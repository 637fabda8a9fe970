"""Watches that the log of rods does not bear out, and that count all the same, in words for a close-out."""

from collections.abc import Iterable

from conflicts.checks import Assessed
from conflicts.pass_watched import PassWatched
from conflicts.sentences import station_words
from conflicts.watch_table import CrossingWatched, WatchTable
from locates.local_time import format_moment


def before_log_words(table: WatchTable, assessed: Assessed) -> list[str]:
    """What was last seen before any rod was logged, and the pilots that were seen ahead of the log.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed

    Returns
    -------
    list of str
        Told, holding nothing. Empty where no rod is in the ground by the log.
    """
    log, job = assessed.site.log, assessed.scene.inputs.job
    if log is None or not log.rods:
        return []
    every = [*log.rods, *(one for gone in log.withdrawn for one in gone.rods)]
    first_at = min(one.logged_at for one in every)
    seen = [(row, one) for row in table.rows for one in row.passes if one.last_seen is not None]
    before = [(row, one) for row, one in seen if one.last_seen and one.last_seen.watched_at < first_at]
    ahead = [(row, one) for row, one in seen if one.last_seen and one.last_seen.is_ahead_of_log]
    told = []
    if before:
        told.append(
            f"The first rod was logged {format_moment(first_at, job.time_zone)}, after these were seen: "
            f"{_places(before, job.show_units)}. The log was written up later, and says nothing of them."
        )
    if ahead:
        told.append(
            "By the log of then the head was short of the line when it was seen there, and that was kept "
            f"though asked: {_places(ahead, job.show_units)}."
        )
    return told


def _places(seen: Iterable[tuple[CrossingWatched, PassWatched]], units: str) -> str:
    """The crossings after each other, each with its passes."""
    passes: dict[str, list[str]] = {}
    for row, one in seen:
        place = f"{row.lies.mark_ref} at {station_words(row.lies.station_m, units)}"
        passes.setdefault(place, []).append(one.pass_made)
    return "; ".join(f"{place} ({', '.join(names)})" for place, names in passes.items())
