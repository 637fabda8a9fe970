"""The bundle of conduits that is pulled in: the circle round it and its weight, all in metres and newtons."""

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
