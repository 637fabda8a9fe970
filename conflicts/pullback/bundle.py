"""The bundle of conduits that is pulled in: the circle round it and its weight, all in metres and newtons."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

GRAVITY_M_PER_S2 = 9.80665  # standard gravity, exact by definition: 3rd CGPM (1901)
WATER_KG_PER_M3 = 1000.0
# Least circle round so many equal circles that do not overlap, in diameters of one: the densest packings
# known, of which those up to 13 are proven. From memory; the tests find each anew by their own search.
CIRCLE_ROUND = (
    1.0,
    2.0,
    2.154701,
    2.414214,
    2.701302,
    3.0,
    3.0,
    3.304765,
    3.613126,
    3.813026,
    3.923804,
    4.029602,
)
MOST_CONDUITS = len(CIRCLE_ROUND)


@dataclass(frozen=True, slots=True)
class CircleRound:
    """Circle round conduits of several sizes; ``is_bound`` where the least circle is at most so wide."""

    diameter_m: float
    is_bound: bool


def circle_round(conduits: Sequence[tuple[int, float]]) -> CircleRound:
    """The circle round conduits that are pulled in together.

    Parameters
    ----------
    conduits : sequence of (int, float)
        How many of which outside diameter, metres; 1 to `MOST_CONDUITS` together.

    Returns
    -------
    CircleRound

    Raises
    ------
    ValueError
        No conduit, or more than `MOST_CONDUITS`.

    Notes
    -----
    Of one size it is the densest packing known. Two of different sizes lie side by side: the sum. For more
    it is the lesser of two circles that certainly hold them: that round as many of the largest, and that of
    the sizes' own circles side by side.
    """
    sizes: dict[float, int] = {}
    for count, outside_m in conduits:
        sizes[outside_m] = sizes.get(outside_m, 0) + count
    total = sum(sizes.values())
    if not 1 <= total <= MOST_CONDUITS:
        raise ValueError(f"{total} conduits; accepted are 1 to {MOST_CONDUITS}")
    side_by_side_m = sum(CIRCLE_ROUND[count - 1] * outside_m for outside_m, count in sizes.items())
    as_largest_m = CIRCLE_ROUND[total - 1] * max(sizes)
    is_bound = len(sizes) > 1 and total > 2
    return CircleRound(min(side_by_side_m, as_largest_m), is_bound)


@dataclass(frozen=True, slots=True)
class Bundle:
    """Equal conduits that are pulled in together.

    Parameters
    ----------
    count : int
        1 to `MOST_CONDUITS`.
    outside_diameter_m : float
        Of one.
    dimension_ratio : float
        Outside diameter over wall thickness (DR), above 2.
    relative_density : float
        Of its material, water being 1.
    """

    count: int
    outside_diameter_m: float
    dimension_ratio: float
    relative_density: float

    @property
    def wall_m(self) -> float:
        """Thickness of one conduit's wall."""
        return self.outside_diameter_m / self.dimension_ratio

    @property
    def inside_diameter_m(self) -> float:
        """Of one conduit."""
        return self.outside_diameter_m - 2.0 * self.wall_m

    @property
    def wall_area_m2(self) -> float:
        """Cross-section of the walls of all of them: pi t (D - t) of each."""
        return self.count * pi * self.wall_m * (self.outside_diameter_m - self.wall_m)

    @property
    def circle_m(self) -> float:
        """Diameter of the circle round the bundle."""
        return CIRCLE_ROUND[self.count - 1] * self.outside_diameter_m

    @property
    def weight_n_per_m(self) -> float:
        """Of the empty conduits in air, for each metre."""
        return self.wall_area_m2 * self.relative_density * WATER_KG_PER_M3 * GRAVITY_M_PER_S2

    def buoyancy_n_per_m(self, mud_relative_density: float) -> float:
        """Upward force on the empty, closed conduits in drilling fluid, less their weight, for each metre."""
        displaced_m2 = self.count * pi * self.outside_diameter_m**2 / 4.0
        lift = displaced_m2 * mud_relative_density * WATER_KG_PER_M3 * GRAVITY_M_PER_S2
        return lift - self.weight_n_per_m
