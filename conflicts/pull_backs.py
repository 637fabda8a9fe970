"""From where on the rods of one bore were pulled back to steer anew, as plain values."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from math import hypot


@dataclass(frozen=True)
class RodOfHole:
    """A rod that is or was in the ground; ``pulled_back_at`` where a pull-back began with it.

    Metres. ``dot_station_m`` is None where the dot was not placed along the bore.
    """

    rod_id: str
    after_id: str | None
    number: int
    length_m: float
    pitch_ratio: float
    dot_station_m: float | None
    pulled_back_at: datetime | None


@dataclass(frozen=True)
class PulledBack:
    """A pull-back from a rod on; ``from_m`` is the station along the bore where that rod began, or less.

    Beyond it the hole is drilled anew.
    """

    rod_id: str
    number: int
    from_m: float
    withdrawn_at: datetime


def pull_backs(rods: Iterable[RodOfHole]) -> tuple[PulledBack, ...]:
    """The pull-backs of a bore in order of time.

    Parameters
    ----------
    rods : iterable of RodOfHole
        All that were ever logged, in any order.
    """
    by_id = {one.rod_id: one for one in rods}
    found = [
        PulledBack(one.rod_id, one.number, least_station_m(_before(one, by_id)), one.pulled_back_at)
        for one in by_id.values()
        if one.pulled_back_at is not None
    ]
    return tuple(sorted(found, key=lambda one: (one.withdrawn_at, one.rod_id)))


def least_station_m(rods: Iterable[RodOfHole]) -> float:
    """The station that rods reach along the bore, or less.

    Parameters
    ----------
    rods : iterable of RodOfHole
        From the entry.

    Returns
    -------
    float
        By length and the steeper of the pitches at both ends of a rod, not more than the dot's station.
    """
    station_m, last = 0.0, 0.0
    for one in rods:
        station_m += one.length_m / hypot(1.0, max(abs(last), abs(one.pitch_ratio)))
        last = one.pitch_ratio
        if one.dot_station_m is not None:
            station_m = min(station_m, one.dot_station_m)
    return station_m


def _before(rod: RodOfHole, by_id: Mapping[str, RodOfHole]) -> list[RodOfHole]:
    """The rods that a rod was joined to, from the entry."""
    before: list[RodOfHole] = []
    after_id = rod.after_id
    while after_id is not None:
        before.append(by_id[after_id])
        after_id = by_id[after_id].after_id
    return before[::-1]
