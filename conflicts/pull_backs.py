"""From where on the rods of one bore were pulled back to steer anew, as plain values."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from math import hypot


@dataclass(frozen=True)
class RodOfHole:
    """A rod that was ever logged; ``pulled_back_at`` where a pull-back began with it.

    Metres. ``dot_station_m`` is None where the dot was not placed along the bore. One that ``is_undone`` was
    entered wrongly, and never in the ground.
    """

    rod_id: str
    after_id: str | None
    number: int
    length_m: float
    pitch_ratio: float
    dot_station_m: float | None
    pulled_back_at: datetime | None
    logged_at: datetime
    is_undone: bool = False


@dataclass(frozen=True)
class PulledBack:
    """A pull-back from a rod on; ``from_m`` is the station along the bore where that rod began, or less.

    Beyond it the hole is drilled anew. ``anew_from`` is when the first rod was logged that was joined since;
    None where none was: then nothing says that the hole goes on from there.
    """

    rod_id: str
    number: int
    from_m: float
    withdrawn_at: datetime
    anew_from: datetime | None

    def outdates(self, watched_at: datetime) -> bool:
        """Whether a watch of that moment was of the hole before, or of none."""
        return self.anew_from is None or watched_at <= self.anew_from

    def is_before_anew(self, watched_at: datetime) -> bool:
        """Whether rods were out at that moment and none was logged in their place: nobody saw a pass then."""
        return self.withdrawn_at <= watched_at and self.outdates(watched_at)


def pull_backs(rods: Iterable[RodOfHole]) -> tuple[PulledBack, ...]:
    """The pull-backs of a bore in order of time.

    Parameters
    ----------
    rods : iterable of RodOfHole
        All that were ever logged, in any order.
    """
    in_order = sorted(rods, key=lambda one: (one.logged_at, one.number, one.rod_id))
    by_id = {one.rod_id: one for one in in_order}
    found = [
        PulledBack(
            one.rod_id,
            one.number,
            least_station_m(_before(one, by_id)),
            one.pulled_back_at,
            _anew_from(one, one.pulled_back_at, in_order),
        )
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


def _anew_from(first: RodOfHole, pulled_back_at: datetime, in_order: Iterable[RodOfHole]) -> datetime | None:
    """When the first rod was joined after those from ``first`` on were pulled back; None where none was.

    What was logged after ``first`` and joined to none of its rods came after the pull-back, whatever the
    clocks say. A rod that was entered wrongly was never joined.
    """
    gone: set[str] = set()
    for one in in_order:
        if one.rod_id == first.rod_id or one.after_id in gone:
            gone.add(one.rod_id)
        elif gone and not one.is_undone:
            return max(one.logged_at, pulled_back_at)
    return None


def _before(rod: RodOfHole, by_id: Mapping[str, RodOfHole]) -> list[RodOfHole]:
    """The rods that a rod was joined to, from the entry."""
    before: list[RodOfHole] = []
    after_id = rod.after_id
    while after_id is not None:
        before.append(by_id[after_id])
        after_id = by_id[after_id].after_id
    return before[::-1]
