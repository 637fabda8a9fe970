"""The crossings of an assessment document with what was drilled beside each, for pages that list them."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from conflicts.bore_states import BoreState
from conflicts.camera_faults import may_be_sewer
from conflicts.checks import Assessed
from conflicts.drilled_told import ToldAsDrilled, told_as_drilled
from conflicts.models import Bore
from conflicts.to_watch import drilled_at
from conflicts.watch_table import CrossingWatched, WatchTable


@dataclass(frozen=True, eq=False)
class DrilledAloneRow:
    """A line that the drilled hole alone meets, and what is to be done about it.

    ``watched`` are its passes, None on a page of the past. ``variance`` is the choice of the form that asks
    for one, empty where nothing is to be excused. ``is_looked_into`` says that its camera inspection is asked
    for after the bore.
    """

    told: ToldAsDrilled
    watched: CrossingWatched | None
    variance: str
    is_looked_into: bool


def drilled_alone_rows(assessed: Assessed, table: WatchTable | None) -> list[DrilledAloneRow]:
    """The lines that the drilled hole alone meets, those of the rods in the ground first.

    Parameters
    ----------
    assessed : Assessed
    table : WatchTable or None
        Of the same assessment; None on a page of the past.
    """
    open_ones = {
        id(one): place
        for place, (_leg, one) in enumerate(assessed.drilled.not_clear)
        if one.answered_by is None
    }
    return [
        DrilledAloneRow(
            told,
            None if table is None else table.rows[told.place],
            f"drilled:{open_ones[id(told.drilled)]}" if id(told.drilled) in open_ones else "",
            may_be_sewer(told.lies, assessed.site),
        )
        for told in told_as_drilled(assessed)
        if told.is_alone
    ]


def drilled_alone_of(states: Iterable[BoreState]) -> list[tuple[Bore, list[ToldAsDrilled]]]:
    """Those of the bores whose hole as drilled meets lines that the plan does not, with these."""
    found = []
    for state in states:
        if state.assessed is not None:
            alone = [one for one in told_as_drilled(state.assessed) if one.is_alone]
            if alone:
                found.append((state.bore, alone))
    return found


def crossings_as_drilled(
    document: dict[str, Any], assessed: Assessed, table: WatchTable | None = None
) -> dict[str, Any]:
    """What a list of crossings shows, so that no verdict of the plan stands alone beside a stop.

    Parameters
    ----------
    document : dict
        The assessment document of ``assessed``; it is not changed.
    assessed : Assessed
    table : WatchTable or None
        Of the same assessment; None on a page of the past.

    Returns
    -------
    dict
        ``document`` with ``as_drilled`` at each crossing; ``drilled_alone``, a row for each crossing of the
        drilled hole alone; ``drilled_stops_at``, the lines that the hole is not clear of.
    """
    crossings = [
        {**members, "as_drilled": drilled_at(assessed, found)}
        for members, found in zip(document["crossings"], assessed.crossings, strict=True)
    ]
    return {
        "document": {**document, "crossings": crossings},
        "drilled_alone": drilled_alone_rows(assessed, table),
        "drilled_stops_at": list(
            dict.fromkeys(one.crossing.mark.ref for one in assessed.drilled.crossings if one.stops)
        ),
    }
