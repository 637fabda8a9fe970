"""The clearances of a bore to one line: a record for each stretch inside the line's tolerance zone."""

from dataclasses import astuple, dataclass

import numpy as np

from conflicts.engine.distance import closest_between
from conflicts.engine.errors import AllowanceError
from conflicts.engine.extent import extents
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import BuriedLine
from conflicts.engine.meeting import clipped, plan_meeting
from conflicts.engine.path import BorePath
from conflicts.engine.uncertainty import least_worst_case, sample_stations, stretch_beside


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


def clearances(
    path: BorePath,
    bore_radius_m: float,
    line: BuriedLine,
    allowances: Allowances,
    stated_accuracy_m: float | None = None,
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

    Returns
    -------
    list of Clearance
        Empty where the bore stays out of the line's tolerance zone.

    Raises
    ------
    AllowanceError
        A radius, zone or allowance that is not a finite figure of 0 or more: with one the zone would be
        nowhere, and the bore would seem to meet nothing.
    """
    stated_m = () if stated_accuracy_m is None else (stated_accuracy_m,)
    figures = (bore_radius_m, line.size.width_m, line.size.height_m, *astuple(allowances), *stated_m)
    if not all(np.isfinite(figure) and figure >= 0.0 for figure in figures):
        raise AllowanceError("a radius, zone or allowance is not a finite figure of 0 or more")
    reach_m = allowances.tolerance_zone_m + bore_radius_m + line.size.plan_radius_m
    found = extents(path.stations_m, path.points_m, line.points_m, reach_m)
    unexposed_m = allowances.tolerance_zone_m if stated_accuracy_m is None else stated_accuracy_m
    return [
        _clearance(path, bore_radius_m, line, allowances, unexposed_m, float(low), float(high))
        for low, high in found
    ]


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
    rise_m = float(path.at(station_m)[2] - on_line[2])
    known = line.depth_is_known
    half_height_m = 0.5 * line.size.height_m
    separation_m = worst_m = likely_m = None
    nearest_station_m = station_m
    if known:
        cut_stations, cut = clipped(stations, points, low_m, high_m)
        squared, segment, part, _, _ = closest_between(cut, line.points_m)
        ends = cut_stations[segment : segment + 2]
        nearest_station_m = float(ends[0] + part * (ends[-1] - ends[0]))
        separation_m = float(np.sqrt(squared)) - bore_radius_m - line.size.radius_m
    samples = sample_stations(stations, low_m, high_m, nearest_station_m)
    if known:
        terms = (
            bore_radius_m + line.size.radius_m,
            allowances.bore_horizontal_m,
            allowances.bore_vertical_m,
            allowances.reach_m,
            unexposed_m,
            allowances.slope_ratio,
        )
        holes = (line.hole_along_m, line.hole_errors_m)
        worst_m, likely_m, _ = least_worst_case(
            stations, points, samples, line.points_m, line.along_m, holes, terms
        )
    stretch = stretch_beside(stations, points, samples, line.points_m, line.along_m)
    return Clearance(
        kind="crossing" if crosses else "alongside",
        from_m=low_m,
        to_m=high_m,
        station_m=float(station_m),
        angle_deg=_angle_deg(points, bore_segment, line.points_m, line_segment),
        passes=("over" if rise_m > 0.0 else "under") if known else None,
        horizontal_m=max(0.0, float(distance_m) - bore_radius_m - line.size.plan_radius_m),
        vertical_m=abs(rise_m) - bore_radius_m - half_height_m if known else None,
        separation_m=separation_m,
        worst_case_m=worst_m,
        likely_m=likely_m,
        point_m=on_line[:2],
        along_m=float(along),
        stretch_m=(float(stretch[0]), float(stretch[1])),
    )


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
