"""The crossings of a drilled hole that the list of the plan lacks: of lines it alone meets or is too near."""

from dataclasses import dataclass

from conflicts.checks import Assessed
from conflicts.drilled import DrilledCrossing
from conflicts.same_place import is_same_place
from conflicts.to_watch import ToWatch, crossings_to_watch, same_place_m


@dataclass(frozen=True, eq=False)
class ToldAsDrilled:
    """A crossing of the drilled hole that the plan does not tell of.

    ``leg`` is the abandoned leg that has it, empty for the rods in the ground. ``lies`` is the crossing to
    watch there, and ``place`` its place among those: of the drilled hole alone, or of the plan.
    ``is_alone`` is the crossing that stands among those to watch itself.
    """

    leg: str
    drilled: DrilledCrossing
    place: int
    lies: ToWatch
    is_alone: bool

    @property
    def anchor(self) -> str:
        """The part of the bore's page that tells of it."""
        return f"as-drilled-{self.place}" if self.lies.is_drilled else f"crossing-{self.place + 1}"


def told_as_drilled(assessed: Assessed) -> list[ToldAsDrilled]:
    """The crossings that the drilled hole alone has, and those of the plan's lines that it is not clear of.

    Parameters
    ----------
    assessed : Assessed

    Returns
    -------
    list of ToldAsDrilled
        The rods in the ground first, by station, then abandoned legs.
    """
    every = assessed.drilled.every
    if not every:
        return []
    lying, near_m = crossings_to_watch(assessed), same_place_m(assessed)
    alone = {
        (one.mark_id, one.kind, one.station_m, one.leg): place
        for place, one in enumerate(lying)
        if one.is_drilled and not one.is_gone
    }
    told = []
    for leg, one in every:
        own = alone.get((one.lies.mark_id, one.lies.kind, one.station_m, leg))
        if own is not None:
            told.append(ToldAsDrilled(leg, one, own, lying[own], is_alone=True))
        elif not one.crossing.is_clear:
            place = next(
                place
                for place, other in enumerate(lying)
                if not other.is_gone and is_same_place(one.lies, other, near_m)
            )
            told.append(ToldAsDrilled(leg, one, place, lying[place], is_alone=False))
    return told
