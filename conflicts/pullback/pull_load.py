"""The force that it takes to pull conduits through a finished hole, step by step.

The steps are those of ASTM F1962 as Najafi, Trenchless Technology Piping, chapter 5, reprints them (equations
5.12 and 5.15 to 5.20). In the last step of the reprint the length of the level part stands where the sum of
forces needs that of the rising one, as F1962 has it (from memory): the rising one is taken here.
"""

from dataclasses import dataclass
from math import exp, pi

from locates.units import METRES_PER_FOOT, METRES_PER_INCH

# Najafi, chapter 5: one unplanned bend of 90 degrees for each 500 ft, with rods of 2 in.
STEERED_BEND_M = 500.0 * METRES_PER_FOOT
STEERED_ROD_M = 2.0 * METRES_PER_INCH
# Najafi, equations 5.15 to 5.20: a third of the buoyant weight, and 1.6 times that for each right angle.
SHARE_OF_WEIGHT = 1.0 / 3.0
TIMES_A_BEND = 1.6
# What those equations assume of conduits dragged over the ground, and through the hole.
USUAL_ON_GROUND, USUAL_IN_HOLE = 0.5, 0.3
# On rollers: F1962 from memory.
ON_ROLLERS = 0.1
# Pressure that drives the displaced fluid out beside the bundle: 10 psi, F1962 from memory.
FLUID_PRESSURE_PA = 68_947.6


@dataclass(frozen=True, slots=True)
class PullPath:
    """The way of the conduits, from where they enter the ground to the rig.

    Parameters
    ----------
    above_ground_m : float
        Length that lies on the ground behind the hole when the pull begins, beyond the hole's own.
    falling_m, level_m, rising_m : float
        Lengths of the hole's three parts, as the conduits meet them.
    falls_m, rises_m : float
        How far down and up again they go.
    entry_rad, exit_rad : float
        Angles of the hole to the level where the conduits enter and where they come out.
    """

    above_ground_m: float
    falling_m: float
    level_m: float
    rising_m: float
    falls_m: float
    rises_m: float
    entry_rad: float
    exit_rad: float

    @property
    def hole_m(self) -> float:
        """Length of the hole."""
        return self.falling_m + self.level_m + self.rising_m


@dataclass(frozen=True, slots=True)
class Frictions:
    """Coefficients of friction of the conduits, on the ground and in the hole."""

    on_ground: float
    in_hole: float


@dataclass(frozen=True, slots=True)
class PullLoads:
    """Force at the pulling head, in newtons, as it comes to the end of each part.

    Parameters
    ----------
    at_entry, falling, level, rising : float
        Where the conduits enter, and after the falling, the level and the rising part.
    """

    at_entry: float
    falling: float
    level: float
    rising: float

    @property
    def greatest(self) -> float:
        """The most of the four."""
        return max(self.at_entry, self.falling, self.level, self.rising)


def parts_of_hole(
    hole_m: float, depths_m: tuple[float, float], angles_rad: tuple[float, float], above_ground_m: float
) -> PullPath:
    """The three parts of a hole that goes down to its deepest place and comes up again.

    Parameters
    ----------
    hole_m : float
    depths_m, angles_rad : tuple of float
        Of the deepest place below each end, and of the hole at that end to the level: first of the end where
        the conduits enter, then of that where they come out.
    above_ground_m : float
        As for `PullPath`.

    Notes
    -----
    An arc that turns by a small angle a to the level comes to the depth H within 2 H / a (F1962's average
    radius of curvature 2 H / a^2; the PE pipe handbook's worked example, from memory). Where the two ends
    leave nothing level between them they share the hole in the same proportion.
    """
    falling, rising = (
        min(hole_m, 2.0 * depth / angle) if angle > 0.0 else 0.0
        for depth, angle in zip(depths_m, angles_rad, strict=True)
    )
    share = min(1.0, hole_m / (falling + rising)) if falling + rising > 0.0 else 1.0
    falling, rising = falling * share, rising * share
    return PullPath(above_ground_m, falling, hole_m - falling - rising, rising, *depths_m, *angles_rad)


def pull_loads(
    path: PullPath, frictions: Frictions, weight_n_per_m: float, buoyancy_n_per_m: float
) -> PullLoads:
    """The forces of equation 5.12, part by part.

    Parameters
    ----------
    path : PullPath
    frictions : Frictions
    weight_n_per_m, buoyancy_n_per_m : float
        Of the conduits in air, and the upward force on them in the hole less that weight; negative where they
        sink.

    Returns
    -------
    PullLoads
    """
    ground, hole = frictions.on_ground, frictions.in_hole
    pressed = abs(buoyancy_n_per_m)
    at_the_bend = exp(ground * path.entry_rad)
    no_longer_dragged = ground * weight_n_per_m * at_the_bend
    at_entry = at_the_bend * ground * weight_n_per_m * (path.above_ground_m + path.hole_m)
    turned = exp(hole * path.entry_rad)
    falling = turned * (
        at_entry
        + hole * pressed * path.falling_m
        + buoyancy_n_per_m * path.falls_m
        - path.falling_m * no_longer_dragged
    )
    level = falling + hole * pressed * path.level_m - turned * no_longer_dragged * path.level_m
    rising = exp(hole * path.exit_rad) * (
        level
        + hole * pressed * path.rising_m
        - buoyancy_n_per_m * path.rises_m
        - turned * no_longer_dragged * path.rising_m
    )
    return PullLoads(at_entry, falling, level, rising)


def steered_bends(hole_m: float, rod_diameter_m: float) -> float:
    """Bends of 90 degrees that steering adds to the planned ones: more with thinner rods."""
    return hole_m / STEERED_BEND_M * STEERED_ROD_M / rod_diameter_m


def small_rig_pull_n(hole_m: float, buoyancy_n_per_m: float, bends: float) -> float:
    """The short estimate for small rigs (equations 5.15 to 5.20), in newtons.

    Parameters
    ----------
    hole_m : float
    buoyancy_n_per_m : float
        As for `pull_loads`; its sign does not count.
    bends : float
        Planned bends of 90 degrees and those that steering adds.

    Notes
    -----
    It assumes 20 degrees at both ends and frictions of 0.5 on the ground and 0.3 in the hole.
    """
    return float(hole_m * abs(buoyancy_n_per_m) * SHARE_OF_WEIGHT * TIMES_A_BEND**bends)


def fluid_drag_n(hole_diameter_m: float, circle_m: float) -> float:
    """Force of the fluid that a bundle drives out of the hole: pressure on half of the ring beside it."""
    return FLUID_PRESSURE_PA * pi / 8.0 * max(0.0, hole_diameter_m**2 - circle_m**2)
