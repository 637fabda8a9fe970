"""The lines that the head has passed by the log while nobody signed a watch of it, in words."""

from conflicts.checks import Assessed
from conflicts.sentences import station_words
from conflicts.watch_table import WatchTable

PILOT = "pilot"


def passed_unwatched(assessed: Assessed, table: WatchTable) -> str:
    """A sentence on the lines that the rods in the ground are past with no watch; empty where there is none.

    Parameters
    ----------
    assessed : Assessed
    table : WatchTable
        Of the same assessment.
    """
    drilled = assessed.drilled.path
    if drilled is None:
        return ""
    units = assessed.scene.inputs.job.show_units
    places = [
        f"{row.lies.mark_ref} at {station_words(row.lies.station_m, units)}"
        for row in table.rows
        for one in row.passes
        if one.pass_made == PILOT and one.watch is None and not one.is_settled
        if not row.lies.leg and row.lies.to_m <= drilled.head.station_m
    ]
    if not places:
        return ""
    return (
        f"The head is past {', '.join(places)}, and nobody signed a watch there. Look in the test hole "
        "before the next rod, and sign what is seen."
    )
