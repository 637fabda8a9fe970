"""The stops that a bore's logged rods set off, each as one sentence for a release and for "may I drill?"."""

from conflicts.ahead_sheet import ahead_sheet
from conflicts.ahead_stops import leg_stops, record_stops
from conflicts.checks import Assessed
from conflicts.rod_log import RodLog


def drilled_stops(assessed: Assessed, log: RodLog | None) -> tuple[str, ...]:
    """A sentence or more for each stop of the look-ahead that its records alone do not set off.

    Parameters
    ----------
    assessed : Assessed
    log : RodLog or None
        None where no rod was ever logged.

    Returns
    -------
    tuple of str
        None before the first rod: until then nothing is drilled that could be in the way. Where all rods
        were pulled back, those of the holes that they left.
    """
    if log is None:
        return ()
    of_records = record_stops(assessed, None)
    if log.rods:
        stops = ahead_sheet(assessed, log, release_words=None).stops
    else:
        stops = tuple(leg_stops(assessed.drilled_by(log)))
    return tuple(f"{stop.when} {stop.because}".rstrip() for stop in stops if stop not in of_records)
