"""Watches that the log of rods does not bear out, and that count all the same, in words for a close-out."""

from collections.abc import Iterable
from datetime import datetime

from conflicts.checks import Assessed
from conflicts.pass_watched import PassWatched
from conflicts.rod_log import RodLog
from conflicts.sentences import station_words
from conflicts.watch_matching import PILOT
from conflicts.watch_table import CrossingWatched, WatchTable
from locates.local_time import format_moment

NO_ROD = "By the log of then no rod was in the ground when these were seen"
AHEAD = (
    "By the log of then the head was short of the line when it was seen there, and that was kept though asked"
)
OUTGROWN = "Rods were logged after these were seen"


def before_log_words(table: WatchTable, assessed: Assessed) -> list[str]:
    """Watches of a time at which the log had no rod, pilots ahead of it, and later passes that it outgrew.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed

    Returns
    -------
    list of str
        Told, holding nothing: a watch that holds is told with its crossing. Empty where no rod is in the
        ground by the log.
    """
    log, job = assessed.site.log, assessed.scene.inputs.job
    if log is None or not log.rods:
        return []
    last = max(log.rods, key=lambda one: one.logged_at)
    before, ahead, outgrown = [], [], []
    for row in table.rows:
        for one in row.passes:
            watch = one.last_seen
            if watch is None or watch.is_before_exit:
                continue
            if not _had_rods(log, watch.watched_at):
                before.append((row, one))
            elif watch.is_ahead_of_log:
                ahead.append((row, one))
            elif one.pass_made != PILOT and not row.lies.leg and watch.watched_at < last.logged_at:
                outgrown.append((row, one))
    when = format_moment(last.logged_at, job.time_zone)
    told = {
        f"{NO_ROD}: {{}}. The log was written up later, and says nothing of them.": before,
        f"{AHEAD}: {{}}.": ahead,
        f"{OUTGROWN}, the last at {when} (rod {last.number}): {{}}. Entries were made anew, or the hole went "
        "on.": outgrown,
    }
    return [words.format(_places(found, job.show_units)) for words, found in told.items() if found]


def _had_rods(log: RodLog, at: datetime) -> bool:
    """Whether by the log of a moment any rod was in the ground by then, those pulled back among them."""
    undone = ((one, it.withdrawal.withdrawn_at) for it in log.withdrawn for one in it.rods)
    legs = (one for leg in log.legs for one in leg.rods)
    return any(one.logged_at <= at for one in (*log.rods, *legs)) or any(
        one.logged_at <= at < withdrawn_at for one, withdrawn_at in undone
    )


def _places(seen: Iterable[tuple[CrossingWatched, PassWatched]], units: str) -> str:
    """The crossings after each other, each with its passes."""
    passes: dict[str, list[str]] = {}
    for row, one in seen:
        place = f"{row.lies.mark_ref} at {station_words(row.lies.station_m, units)}"
        passes.setdefault(place, []).append(one.pass_made)
    return "; ".join(f"{place} ({', '.join(names)})" for place, names in passes.items())
