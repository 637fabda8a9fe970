"""What a close-out lacks, as its page tells it: each crossing with its passes, and what is of the bore."""

from dataclasses import dataclass

from conflicts.checks import Assessed
from conflicts.closing_faults import bore_faults
from conflicts.pass_watched import PassWatched
from conflicts.short_of_exit import exit_faults
from conflicts.variance_reasons import not_excused_watch
from conflicts.watch_table import CrossingWatched, WatchTable, gone_words

NOT_WATCHED = "Not watched."
NOT_SEEN = "Not seen to pass."


@dataclass(frozen=True)
class PassesMissing:
    """Passes of one crossing that lack the same, in their order, with a sentence for each thing."""

    passes: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class CrossingClosing:
    """A crossing with what of its passes stands in the way; ``gone`` says why it lies there no more."""

    row: CrossingWatched
    gone: str
    missing: tuple[PassesMissing, ...]


@dataclass(frozen=True)
class ClosingSheet:
    """All of `close_out_faults`, by crossing.

    ``of_bore`` are those that are not of one pass of one crossing; ``open`` and ``settled`` are the crossings
    with and without such. ``ends_short`` says that the rods logged do not lead to the exit.
    """

    of_bore: tuple[str, ...]
    open: tuple[CrossingClosing, ...]
    settled: tuple[CrossingClosing, ...]
    ends_short: bool

    @property
    def total(self) -> int:
        """How many crossings are watched at all."""
        return len(self.open) + len(self.settled)


def closing_sheet(table: WatchTable, assessed: Assessed) -> ClosingSheet:
    """What stands in the way of a close-out, by crossing.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed
    """
    crossings = [
        CrossingClosing(row, gone_words(row), _missing(row, assessed)) for row in table.rows if row.passes
    ]
    return ClosingSheet(
        of_bore=tuple(bore_faults(table, assessed)),
        open=tuple(one for one in crossings if one.missing),
        settled=tuple(one for one in crossings if not one.missing),
        ends_short=bool(exit_faults(assessed)),
    )


def _missing(row: CrossingWatched, assessed: Assessed) -> tuple[PassesMissing, ...]:
    """What a crossing's passes lack, those that lack the same together."""
    found: dict[tuple[str, ...], list[str]] = {}
    for one in row.passes:
        if not one.is_settled:
            found.setdefault(_sentences(row, one, assessed), []).append(one.pass_made)
    return tuple(PassesMissing(tuple(passes), sentences) for sentences, passes in found.items())


def _sentences(row: CrossingWatched, passed: PassWatched, assessed: Assessed) -> tuple[str, ...]:
    job = assessed.scene.inputs.job
    faults = passed.faults(job.show_units, job.time_zone)
    told = []
    if passed.watch is None:
        told.append(NOT_WATCHED)
    elif not passed.watch.seen:
        told.append(NOT_SEEN)
    told += [one.words for one in faults]
    rests_on = (*row.lies.rests_on, *faults)
    why = not_excused_watch(
        assessed.site, row.lies, passed.pass_made, rests_on, assessed.at, job.show_units, job.time_zone
    )
    return tuple([*told, why] if why else told)
