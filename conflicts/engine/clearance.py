"""The clearances of a bore to one line: a record for each stretch inside the line's tolerance zone.

A bore less sure sideways than the plan allows counts as inside so much farther out.
"""

from collections.abc import Callable
from dataclasses import astuple, dataclass, replace

import numpy as np

from conflicts.engine.distance import closest_between
from conflicts.engine.errors import AllowanceError
from conflicts.engine.extent import extents
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import BuriedLine
from conflicts.engine.meeting import clipped, nearest_on_line, plan_meeting
from conflicts.engine.path import BorePath
from conflicts.engine.terms import Meeting, Nearest, Sizes, Worst
from conflicts.engine.uncertainty import least_worst_case, sample_stations, stretch_beside
from conflicts.engine.worst_point import worst_point

# Positions written to eight decimals of a degree are rounded by up to half a millimetre each, so points of a
# line beside a bore whose distances from it differ by less than this are equally near.
AS_NEAR_M = 0.0015

# Horizontal and vertical error of a bore, m, at worst between two stations.
BoreErrors = Callable[[float, float], tuple[float, float]]


@dataclass(frozen=True)
class Allowances:
    """What positions may be wrong by, all in metres but the slope.

    Attributes
    ----------
    tolerance_zone_m : float
        Width from the outside edge of a line; also a line's horizontal error where nothing better is known.
    reach_m : float
        Expose reach.
    bore_horizontal_m, bore_vertical_m : float
        Steering allowances of the bore.
    slope_ratio : float
        Height error of a line for each metre along it from its nearest test hole.
    """

    tolerance_zone_m: float
    reach_m: float
    bore_horizontal_m: float
    bore_vertical_m: float
    slope_ratio: float


@dataclass(frozen=True, eq=False)
class Clearance:
    """The figures of one crossing, in metres; None where a figure cannot be known.

    Attributes
    ----------
    kind : str
        "crossing" where the centre lines meet in plan, else "alongside".
    from_m, to_m, station_m : float
        Extent along the bore, and the station of the crossing point.
    angle_deg : float or None
        Acute angle in plan at the crossing point; None beside a single painted point.
    passes : str or None
        "over" or "under", as the bore passes the line.
    horizontal_m : float
    vertical_m, separation_m, worst_case_m, likely_m : float or None
    point_m : (2,) float array
        The line's point at the crossing, east and north.
    along_m : float
        The same point along the line.
    stretch_m : tuple of float
        First and last distance along the line of the stretch beside the extent.
    as_near : tuple of int
        For kind alongside, the found holes of the line that are as near to the bore as the crossing point, to
        within `AS_NEAR_M`: index into the holes given.
    sizes, meeting : Sizes, Meeting
        What the extent and the figures in plan and height are made of.
    nearest, worst : Nearest, Worst or None
        What the separation and the worst case are made of; None where the depth is unknown.
    """

    kind: str
    from_m: float
    to_m: float
    station_m: float
    angle_deg: float | None
    passes: str | None
    horizontal_m: float
    vertical_m: float | None
    separation_m: float | None
    worst_case_m: float | None
    likely_m: float | None
    point_m: FloatArray
    along_m: float
    stretch_m: tuple[float, float]
    as_near: tuple[int, ...]
    sizes: Sizes
    meeting: Meeting
    nearest: Nearest | None
    worst: Worst | None


def clearances(
    path: BorePath,
    bore_radius_m: float,
    line: BuriedLine,
    allowances: Allowances,
    stated_accuracy_m: float | None = None,
    bore_errors_m: BoreErrors | None = None,
    farther_m: FloatArray | None = None,
) -> list[Clearance]:
    """Every crossing of a bore with one line, by station.

    Parameters
    ----------
    path : BorePath
    bore_radius_m : float
        Half of the final hole's diameter.
    line : BuriedLine
    allowances : Allowances
    stated_accuracy_m : float or None
        Horizontal accuracy that the mark states.
    bore_errors_m : BoreErrors or None
        What the bore may be off by within a stretch, where that is not the same all along it; None where the
        steering allowances count.
    farther_m : (n - 1,) float array or None
        How much farther than the tolerance zone the line is looked for, at each piece of the path; None for
        no farther.

    Returns
    -------
    list of Clearance
        Empty where the bore stays out of the line's tolerance zone, and of what is farther.

    Raises
    ------
    AllowanceError
        A radius, zone or allowance that is not a finite figure of 0 or more: with one the zone would be
        nowhere, and the bore would seem to meet nothing.
    """
    stated_m = () if stated_accuracy_m is None else (stated_accuracy_m,)
    figures = (bore_radius_m, line.size.width_m, line.size.height_m, *astuple(allowances), *stated_m)
    more_m = np.zeros(len(path.stations_m) - 1) if farther_m is None else farther_m
    is_figure = all(np.isfinite(figure) and figure >= 0.0 for figure in figures)
    if not (is_figure and np.isfinite(more_m).all() and (more_m >= 0.0).all()):
        raise AllowanceError("a radius, zone or allowance is not a finite figure of 0 or more")
    reach_m = allowances.tolerance_zone_m + bore_radius_m + line.size.plan_radius_m
    found = extents(path.stations_m, path.points_m, line.points_m, reach_m + more_m)
    unexposed_m = allowances.tolerance_zone_m if stated_accuracy_m is None else stated_accuracy_m
    return [
        _clearance(
            path,
            bore_radius_m,
            line,
            _within(allowances, bore_errors_m, float(low), float(high)),
            unexposed_m,
            float(low),
            float(high),
        )
        for low, high in found
    ]


def past_allowance_by_piece_m(
    path: BorePath, allowances: Allowances, bore_errors_m: BoreErrors
) -> FloatArray:
    """How much farther than the tolerance zone lines are looked for, where a bore is as unsure as it is.

    Parameters
    ----------
    path : BorePath
        Of n points.
    allowances : Allowances
        With the steering allowances.
    bore_errors_m : BoreErrors
        What the bore may be off by between two stations.

    Returns
    -------
    (n - 1,) float array
        At each piece of the path `past_allowance_m` of the horizontal error at its middle.
    """
    middles_m = (0.5 * (path.stations_m[:-1] + path.stations_m[1:])).tolist()
    return np.array(
        [past_allowance_m(allowances.bore_horizontal_m, bore_errors_m(at_m, at_m)[0]) for at_m in middles_m]
    )


def past_allowance_m(bore_horizontal_m: float, horizontal_error_m: float) -> float:
    """How much farther than the tolerance zone a line is looked for from a place that may be off by so much.

    Parameters
    ----------
    bore_horizontal_m : float
        Steering allowance: a bore no less sure than that is looked at as the plan is.
    horizontal_error_m : float
    """
    # In this order an error that is no number stays one, and is refused.
    return max(horizontal_error_m - bore_horizontal_m, 0.0)


def _within(
    allowances: Allowances, bore_errors_m: BoreErrors | None, low_m: float, high_m: float
) -> Allowances:
    """Allowances with what the bore may be off by within a stretch."""
    if bore_errors_m is None:
        return allowances
    horizontal_m, vertical_m = bore_errors_m(low_m, high_m)
    return replace(allowances, bore_horizontal_m=horizontal_m, bore_vertical_m=vertical_m)


def _clearance(
    path: BorePath,
    bore_radius_m: float,
    line: BuriedLine,
    allowances: Allowances,
    unexposed_m: float,
    low_m: float,
    high_m: float,
) -> Clearance:
    stations, points = path.stations_m, path.points_m
    crosses, distance_m, station_m, bore_segment, line_segment, fraction = plan_meeting(
        stations, points, line.points_m, low_m, high_m
    )
    after = min(line_segment + 1, len(line.points_m) - 1)
    on_line = line.points_m[line_segment] + fraction * (line.points_m[after] - line.points_m[line_segment])
    along = line.along_m[line_segment] + fraction * (line.along_m[after] - line.along_m[line_segment])
    known = line.depth_is_known
    bore_m, line_m = float(path.at(station_m)[2]), float(on_line[2])
    meeting = Meeting(float(distance_m), bore_m, line_m if known else None)
    sizes = Sizes(bore_radius_m, line.size.plan_radius_m, 0.5 * line.size.height_m, line.size.radius_m)
    nearest = _nearest(path, line, low_m, high_m) if known else None
    samples = sample_stations(stations, low_m, high_m, nearest.station_m if nearest else station_m)
    worst = _worst(path, line, sizes, allowances, unexposed_m, samples) if known else None
    stretch = stretch_beside(stations, points, samples, line.points_m, line.along_m)
    return Clearance(
        kind="crossing" if crosses else "alongside",
        from_m=low_m,
        to_m=high_m,
        station_m=float(station_m),
        angle_deg=_angle_deg(points, bore_segment, line.points_m, line_segment),
        passes=("over" if bore_m - line_m > 0.0 else "under") if known else None,
        horizontal_m=max(0.0, float(distance_m) - bore_radius_m - line.size.plan_radius_m),
        vertical_m=abs(bore_m - line_m) - bore_radius_m - sizes.line_half_height_m if known else None,
        separation_m=nearest.centre_distance_m - bore_radius_m - line.size.radius_m if nearest else None,
        worst_case_m=worst.worst_case_m if worst else None,
        likely_m=worst.likely_m if worst else None,
        point_m=on_line[:2],
        along_m=float(along),
        stretch_m=(float(stretch[0]), float(stretch[1])),
        as_near=() if crosses else _as_near(path, line, low_m, high_m, float(distance_m)),
        sizes=sizes,
        meeting=meeting,
        nearest=nearest,
        worst=worst,
    )


def _nearest(path: BorePath, line: BuriedLine, low_m: float, high_m: float) -> Nearest:
    """Where the bore's centre line within the extent comes nearest to the line's."""
    cut_stations, cut = clipped(path.stations_m, path.points_m, low_m, high_m)
    squared, segment, part, _, _ = closest_between(cut, line.points_m)
    ends = cut_stations[segment : segment + 2]
    return Nearest(float(ends[0] + part * (ends[-1] - ends[0])), float(np.sqrt(squared)))


def _as_near(
    path: BorePath, line: BuriedLine, low_m: float, high_m: float, least_m: float
) -> tuple[int, ...]:
    """The found holes that are as near in plan to the bore within the extent as its least distance."""
    _, cut = clipped(path.stations_m, path.points_m, low_m, high_m)
    cut[:, 2] = 0.0
    found = []
    for at_m, hole in zip(line.hole_along_m, line.hole_order, strict=True):
        place = np.array([*(np.interp(at_m, line.along_m, line.points_m[:, axis]) for axis in range(2)), 0.0])
        if np.sqrt(nearest_on_line(place, cut)[2]) <= least_m + AS_NEAR_M:
            found.append(int(hole))
    return tuple(found)


def _worst(
    path: BorePath,
    line: BuriedLine,
    sizes: Sizes,
    allowances: Allowances,
    unexposed_m: float,
    samples: FloatArray,
) -> Worst:
    """The least worst case of the extent, and what it is made of."""
    terms = (
        sizes.bore_radius_m + sizes.line_radius_m,
        allowances.bore_horizontal_m,
        allowances.bore_vertical_m,
        allowances.reach_m,
        unexposed_m,
        allowances.slope_ratio,
    )
    holes = (line.hole_along_m, line.hole_errors_m)
    worst_m, likely_m, station_m = least_worst_case(
        path.stations_m, path.points_m, samples, line.points_m, line.along_m, holes, terms
    )
    return worst_point(path, line, terms, worst_m, likely_m, float(station_m))


def _angle_deg(path_m: FloatArray, bore_segment: int, line_m: FloatArray, line_segment: int) -> float | None:
    """Acute angle in plan between two segments, degrees; None where one has no length."""
    if line_segment + 1 >= len(line_m):
        return None
    bore = path_m[bore_segment + 1, :2] - path_m[bore_segment, :2]
    line = line_m[line_segment + 1, :2] - line_m[line_segment, :2]
    if not line.any():
        return None
    across = abs(bore[0] * line[1] - bore[1] * line[0])
    return float(np.degrees(np.arctan2(across, abs(float(bore @ line)))))
