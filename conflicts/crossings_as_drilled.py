"""The crossings of an assessment document with what was drilled beside each, for pages that list them."""

from typing import Any

from conflicts.checks import Assessed
from conflicts.to_watch import crossings_to_watch, drilled_at


def crossings_as_drilled(document: dict[str, Any], assessed: Assessed) -> dict[str, Any]:
    """What a list of crossings shows, so that no verdict of the plan stands alone beside a stop.

    Parameters
    ----------
    document : dict
        The assessment document of ``assessed``; it is not changed.
    assessed : Assessed

    Returns
    -------
    dict
        ``document`` with ``as_drilled`` at each crossing; ``drilled_alone``, the crossings of the drilled
        hole alone, each with its leg; ``drilled_stops_at``, the lines that the hole is not clear of.
    """
    crossings = [
        {**members, "as_drilled": drilled_at(assessed, found)}
        for members, found in zip(document["crossings"], assessed.crossings, strict=True)
    ]
    alone = {
        (one.mark_id, one.kind, one.station_m, one.leg)
        for one in crossings_to_watch(assessed)
        if one.is_drilled
    }
    return {
        "document": {**document, "crossings": crossings},
        "drilled_alone": [
            (leg, one)
            for leg, one in assessed.drilled.every
            if (one.lies.mark_id, one.lies.kind, one.station_m, leg) in alone
        ],
        "drilled_stops_at": list(
            dict.fromkeys(one.crossing.mark.ref for one in assessed.drilled.crossings if one.stops)
        ),
    }
