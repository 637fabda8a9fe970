"""What a profile must keep: the ground, the rig, the ends, and the lines that it must miss.

Everything lies in the unrolled vertical plane of the alignment: station along it, elevation up.
"""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from conflicts.engine.errors import PathError
from conflicts.engine.frame import FloatArray
from conflicts.engine.path import Ground

# Deeper below the ground than any bore of this kind goes, m.
FAR_M = 60.0
# Where nobody says what margin is enough: past it the shorter profile is the better one, m.
ENOUGH_MARGIN_M = 2.0


class Obstacle(Protocol):
    """A line that the hole's centre must stay away from, by a margin above what is required."""

    @property
    def name(self) -> str:
        """What people call it."""
        ...

    @property
    def from_m(self) -> float:
        """First station at which it counts."""
        ...

    @property
    def to_m(self) -> float:
        """Last station at which it counts."""
        ...

    def margins_m(self, stations_m: FloatArray, elevations_m: FloatArray) -> FloatArray:
        """What is left above the required clearance with the hole's centre at each place, as an array."""
        ...

    def edges_m(self, stations_m: FloatArray, margin_m: float) -> tuple[FloatArray, FloatArray]:
        """Elevations between which the margin is less than asked, lower and upper, as (n,) arrays.

        NaN at a station where every elevation has it.
        """
        ...

    def tangent_m(
        self, stations_m: FloatArray, margin_m: float, *, is_under: bool
    ) -> tuple[FloatArray, FloatArray]:
        """The lower or upper edge as linear in the margin, along the tangent at one, as (n,) arrays.

        Where it lies at a margin of 0, and how far out it moves a metre of margin. NaN as in `edges_m`; an
        edge that is only there at a larger margin stays where it lies there.
        """
        ...


@dataclass(frozen=True, eq=False)
class ForbiddenBand:
    """Elevations that no centre of the hole may have between two stations; a margin widens both edges."""

    name: str
    from_m: float
    to_m: float
    lower_m: float
    upper_m: float

    def margins_m(self, stations_m: FloatArray, elevations_m: FloatArray) -> FloatArray:
        """Distance in height outside the band, negative inside it."""
        return np.maximum(elevations_m - self.upper_m, self.lower_m - elevations_m)

    def edges_m(self, stations_m: FloatArray, margin_m: float) -> tuple[FloatArray, FloatArray]:
        """The band's edges, the margin farther out."""
        return (
            np.full(len(stations_m), self.lower_m - margin_m),
            np.full(len(stations_m), self.upper_m + margin_m),
        )

    def tangent_m(
        self, stations_m: FloatArray, margin_m: float, *, is_under: bool
    ) -> tuple[FloatArray, FloatArray]:
        """One of the band's edges, which moves as much as the margin."""
        count = len(stations_m)
        return np.full(count, self.lower_m if is_under else self.upper_m), np.ones(count)


@dataclass(frozen=True)
class Range:
    """From one figure to another, both allowed."""

    least: float
    greatest: float


@dataclass(frozen=True, eq=False)
class ProfileLimits:
    """What a profile must keep besides missing the lines.

    Attributes
    ----------
    length_m : float
        Station of the exit.
    ground : Ground
    hole_radius_m : float
        Of the finished hole.
    rod_length_m, bend_radius_m : float
    entry_depth_m, exit_depth_m : Range
        Of the hole's centre below the ground at both ends.
    entry_pitch_ratio, exit_pitch_ratio : Range
        Rise over run; down is negative.
    minimum_cover_m : float
        From the hole's top to the ground straight above.
    covered_m : Range
        Stations between which the cover is asked.
    steepest_pitch_ratio : float
        Steepest pitch anywhere, up or down.
    entry_station_m : Range
        Where the rig may stand; below 0 is behind the alignment's beginning.
    greatest_depth_m : float
        Of the hole's centre below the ground.
    plan_bends : tuple of (float, float)
        Station and turn (rad, signed) of each bend of the alignment in plan. What a rod turns in plan it
        cannot turn in pitch.
    enough_margin_m : float
        A margin past which a shorter profile is worth more than a larger margin.

    Raises
    ------
    PathError
        A length, rod or radius that is not above 0, or a range that ends before it begins.
    """

    length_m: float
    ground: Ground
    hole_radius_m: float
    rod_length_m: float
    bend_radius_m: float
    entry_depth_m: Range
    exit_depth_m: Range
    entry_pitch_ratio: Range
    exit_pitch_ratio: Range
    minimum_cover_m: float
    covered_m: Range
    steepest_pitch_ratio: float
    entry_station_m: Range = field(default_factory=lambda: Range(0.0, 0.0))
    greatest_depth_m: float = FAR_M
    plan_bends: tuple[tuple[float, float], ...] = ()
    enough_margin_m: float = ENOUGH_MARGIN_M

    def __post_init__(self) -> None:
        figures = (self.length_m, self.rod_length_m, self.bend_radius_m, self.steepest_pitch_ratio)
        if not all(np.isfinite(one) and one > 0.0 for one in figures):
            raise PathError("a profile needs a length, rod length, bend radius and steepest pitch above 0")
        ranges = (self.entry_depth_m, self.exit_depth_m, self.entry_pitch_ratio, self.exit_pitch_ratio)
        if not all(one.least <= one.greatest for one in (*ranges, self.entry_station_m)):
            raise PathError("a range of a profile's demands goes from the lesser to the greater figure")
        if self.steepest_pitch_ratio > 1.0:
            raise PathError("the steepest pitch of a profile is 100 % at most")
        if self.entry_station_m.greatest >= self.length_m:
            raise PathError("the rig must stand before the exit")

    @property
    def straight_run_m(self) -> float:
        """Least run of the first rod, which is drilled straight: its level part at the steepest pitch."""
        return self.rod_length_m / float(np.sqrt(1.0 + self.steepest_pitch_ratio**2))

    @property
    def too_sharp(self) -> tuple[float, float] | None:
        """Station and turn of the alignment's first bend that no rod can make; None where there is none."""
        most = self.rod_length_m / self.bend_radius_m
        return next((bend for bend in self.plan_bends if abs(bend[1]) > most), None)

    def entry_elevation_m(self, station_m: float) -> Range:
        """Elevations that the hole's centre may have at the entry, with the rig at a station."""
        return self._elevations(station_m, self.entry_depth_m)

    @property
    def exit_elevation_m(self) -> Range:
        """Elevations that the hole's centre may have at the exit."""
        return self._elevations(self.length_m, self.exit_depth_m)

    def _elevations(self, station_m: float, depth_m: Range) -> Range:
        ground = float(self.ground.at(station_m))
        return Range(ground - depth_m.greatest, ground - depth_m.least)

    def highest_m(self, stations_m: ArrayLike) -> FloatArray:
        """The highest elevation of the hole's centre that ground and cover allow, the same shape as asked.

        Outside the stations that must be covered the centre may be as high as the ground.
        """
        stations = np.asarray(stations_m, dtype=float)
        ground = self.ground.at(stations)
        is_covered = (stations >= self.covered_m.least) & (stations <= self.covered_m.greatest)
        return np.where(is_covered, ground - self.minimum_cover_m - self.hole_radius_m, ground)

    def lowest_m(self, stations_m: ArrayLike) -> FloatArray:
        """The lowest elevation of the hole's centre that the greatest depth allows, as `highest_m`."""
        return self.ground.at(stations_m) - self.greatest_depth_m

    def level_turns_rad(self, before_m: FloatArray, after_m: FloatArray) -> FloatArray:
        """Turn in plan, without a sign, of the rods between stations, as an (n,) array."""
        turns = np.zeros(len(before_m))
        for station, turn in self.plan_bends:
            turns += np.where((station > before_m) & (station <= after_m), turn, 0.0)
        return np.abs(turns)

    def turns_left_rad(self, lengths_m: FloatArray, level_rad: FloatArray) -> FloatArray:
        """Turn in pitch that rods have left beside their turn in plan, as an (n,) array.

        Negative where the turn in plan alone is too much.

        Notes
        -----
        The turn in three dimensions is sqrt(dtheta^2 + (cos theta dpsi)^2), taken here with cos theta = 1,
        which leaves the less.
        """
        whole = lengths_m / self.bend_radius_m
        left = np.sqrt(np.maximum(0.0, whole * whole - level_rad * level_rad))
        return np.where(level_rad <= whole, left, whole - level_rad)
