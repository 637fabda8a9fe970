"""What the figures of a crossing are made of, so that each can be shown with its sum."""

from dataclasses import dataclass

from conflicts.engine.frame import FloatArray

# Nearer than this the centre lines touch, and errors count whole in every direction: where two are drawn
# through one point, rounding alone decides how far apart their nearest points are, and in which direction.
TOUCHES_M = 1e-6


@dataclass(frozen=True)
class Sizes:
    """The sizes that count, in metres.

    Attributes
    ----------
    bore_radius_m : float
        Of the finished hole.
    line_plan_radius_m, line_half_height_m : float
        Half of the line's width and of its height.
    line_radius_m : float
        Its radius in three dimensions; of a duct bank that of the circle round its section.
    """

    bore_radius_m: float
    line_plan_radius_m: float
    line_half_height_m: float
    line_radius_m: float

    @property
    def bore_diameter_m(self) -> float:
        """Of the finished hole."""
        return 2.0 * self.bore_radius_m


@dataclass(frozen=True)
class Meeting:
    """The crossing point: where the centre lines meet in plan, else where they are closest.

    Attributes
    ----------
    plan_distance_m : float
        Between the centre lines in plan.
    bore_elevation_m : float
        Of the hole's centre there.
    line_elevation_m : float or None
        Of the line's centre there; None where its depth is unknown.
    """

    plan_distance_m: float
    bore_elevation_m: float
    line_elevation_m: float | None


@dataclass(frozen=True)
class Nearest:
    """Where the centre lines come nearest in space within the extent."""

    station_m: float
    centre_distance_m: float


@dataclass(frozen=True, eq=False)
class Worst:
    """The point of the bore with the least worst case, and the line's point nearest to it.

    Attributes
    ----------
    worst_case_m, likely_m : float
    station_m : float
        Of the bore's point.
    bore_point_m, line_point_m : (3,) float arrays
        East, north, elevation of both centres.
    line_direction : (2,) float array
        Unit vector along the line in plan there; NaN for a line without length.
    centre_distance_m : float
    level_share, plumb_share : float
        Parts of a level and of a plumb error that act along the way between the points; both 1 where the
        lines touch.
    bore_horizontal_m, bore_vertical_m, line_horizontal_m, line_vertical_m : float
        Errors of both.
    loss_m : float
        What the errors take from the separation at worst.
    line_along_m : float
        The line's point, along the line.
    hole : int
        The test hole nearest along the line, as an index into the holes that the line was built from.
    hole_error_m, hole_away_m : float
        Its error, and its distance along the line.
    hole_is_in_reach : bool
        It lies within the expose reach, so that its error counts in plan too.
    """

    worst_case_m: float
    likely_m: float
    station_m: float
    bore_point_m: FloatArray
    line_point_m: FloatArray
    line_direction: FloatArray
    centre_distance_m: float
    level_share: float
    plumb_share: float
    bore_horizontal_m: float
    bore_vertical_m: float
    line_horizontal_m: float
    line_vertical_m: float
    loss_m: float
    line_along_m: float
    hole: int
    hole_error_m: float
    hole_away_m: float
    hole_is_in_reach: bool

    @property
    def touches(self) -> bool:
        """Whether the centre lines touch."""
        return self.centre_distance_m <= TOUCHES_M
