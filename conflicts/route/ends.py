"""The ends of bores, as plain values: where they lie, how deep, and in which pit."""

from dataclasses import dataclass
from typing import NamedTuple
from uuid import UUID

import shapely

from conflicts.engine.frame import FloatArray

ENTRY, EXIT = "entry", "exit"
ENDS = (ENTRY, EXIT)


class End(NamedTuple):
    """One end of one bore."""

    bore_id: UUID
    end: str

    @property
    def other(self) -> "End":
        """The end at the other side of the same bore."""
        return End(self.bore_id, EXIT if self.end == ENTRY else ENTRY)


@dataclass(frozen=True, eq=False)
class RouteBore:
    """A bore as the route knows it; what is not known is None.

    Attributes
    ----------
    plan_m : (n, 2) float array
        The alignment in the frame of the job, entry first.
    length_m : float
        Of the alignment on the ground.
    hole_length_m : float or None
        Along the hole's centre, in three dimensions.
    depths_m : tuple of float or None
        Of the hole's centre below the ground, at the entry and at the exit.
    pits : tuple of Polygon or None
        In the frame of the job, at the entry and at the exit.
    """

    bore_id: UUID
    name: str
    plan_m: FloatArray
    length_m: float
    hole_length_m: float | None
    depths_m: tuple[float | None, float | None]
    pits: tuple[shapely.Polygon | None, shapely.Polygon | None]

    def place_m(self, end: str) -> FloatArray:
        """East and north of an end."""
        place: FloatArray = self.plan_m[0 if end == ENTRY else -1]
        return place

    def depth_m(self, end: str) -> float | None:
        """Depth of the hole's centre at an end."""
        return self.depths_m[ENDS.index(end)]

    def pit(self, end: str) -> shapely.Polygon | None:
        """The pit at an end."""
        return self.pits[ENDS.index(end)]


@dataclass(frozen=True)
class Stated:
    """What a person said of two ends: that they are joined and how, or that they are not."""

    stated_id: UUID
    ends: tuple[End, End]
    is_joined: bool
    how: str
    note: str
