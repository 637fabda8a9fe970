"""The crossing that comes next: ahead of the head, or the first from the entry before anything is drilled."""

from dataclasses import dataclass
from typing import Any

from conflicts.checks import Assessed


@dataclass(frozen=True, eq=False)
class NextCrossing:
    """A crossing of an assessment document that the head has not left behind.

    Attributes
    ----------
    place : int
        Of the crossing in the document.
    members : dict
        Of the crossing, as the document has them.
    ahead : int
        How many crossings are ahead, this one among them.
    head_m : float or None
        Station of the head; None before a rod is in the ground.
    """

    place: int
    members: dict[str, Any]
    ahead: int
    head_m: float | None


def next_crossing(document: dict[str, Any], assessed: Assessed) -> NextCrossing | None:
    """The first crossing of the plan that does not end behind the head; None where all do.

    Parameters
    ----------
    document : dict
        The assessment document of ``assessed``.
    assessed : Assessed
    """
    drilled = assessed.drilled.path
    head_m = None if drilled is None else drilled.head.station_m
    ahead = [
        place for place, one in enumerate(assessed.crossings) if head_m is None or one.clearance.to_m > head_m
    ]
    if not ahead:
        return None
    return NextCrossing(ahead[0], document["crossings"][ahead[0]], len(ahead), head_m)
