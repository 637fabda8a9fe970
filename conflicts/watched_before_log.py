"""Watches that the log of rods does not bear out, and that count all the same, in words for a close-out."""

from collections.abc import Iterable
from datetime import datetime

from conflicts.checks import Assessed
from conflicts.pass_watched import PassWatched
from conflicts.rod_log import RodLog
from conflicts.sentences import station_words
from conflicts.watch_table import CrossingWatched, WatchTable


def before_log_words(table: WatchTable, assessed: Assessed) -> list[str]:
    """What was last seen while no rod was in the log, and the pilots that were seen ahead of the log.

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
    seen = [(row, one) for row in table.rows for one in row.passes if one.last_seen is not None]
    before = [
        (row, one) for row, one in seen if one.last_seen and not _had_rods(log, one.last_seen.watched_at)
    ]
    ahead = [(row, one) for row, one in seen if one.last_seen and one.last_seen.is_ahead_of_log]
    told = []
    if before:
        told.append(
            f"By the log of then no rod was in the ground when these were seen: "
            f"{_places(before, job.show_units)}. The log was written up later, and says nothing of them."
        )
    if ahead:
        told.append(
            "By the log of then the head was short of the line when it was seen there, and that was kept "
            f"though asked: {_places(ahead, job.show_units)}."
        )
    return told


def _had_rods(log: RodLog, at: datetime) -> bool:
    """Whether by the log of a moment any rod was in the ground then."""
    gone = ((one, it.withdrawal.withdrawn_at) for it in log.withdrawn for one in it.rods)
    return any(one.logged_at <= at for one in log.rods) or any(
        one.logged_at <= at < withdrawn_at for one, withdrawn_at in gone
    )


def _places(seen: Iterable[tuple[CrossingWatched, PassWatched]], units: str) -> str:
    """The crossings after each other, each with its passes."""
    passes: dict[str, list[str]] = {}
    for row, one in seen:
        place = f"{row.lies.mark_ref} at {station_words(row.lies.station_m, units)}"
        passes.setdefault(place, []).append(one.pass_made)
    return "; ".join(f"{place} ({', '.join(names)})" for place, names in passes.items())
