"""What a profile shows, in metres of station and elevation: ground, hole, pits, test holes, lines."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from conflicts.crossings import FoundCrossing
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import project_on
from conflicts.engine.uncertainty import line_errors
from conflicts.hole_passes import HoleSize
from conflicts.inputs import PitInput, TestHoleInput
from conflicts.scene import Scene, SceneLine

# A test hole farther from the bore than a traffic lane is wide says little about the ground there.
SHOWN_HOLE_M = 3.0
# A line alongside is drawn through points no farther apart than this along the bore.
COURSE_STEP_M = 1.0


@dataclass(frozen=True, eq=False)
class ShownLine:
    """A line where the bore meets it.

    Attributes
    ----------
    found : FoundCrossing
    sequence : int
        Place of the crossing along the bore, from 0.
    station_m : float
    elevation_m : float or None
        Of its centre; None where its depth is unknown.
    half_width_m, half_height_m : float
    error_across_m, error_up_m : float
        Its own uncertainty; 0 where the depth is unknown, for nothing is drawn of it then.
    course_m : (n, 3) float array or None
        Of a line alongside with a known depth: station, elevation of its centre, uncertainty of that.
    """

    found: FoundCrossing
    sequence: int
    station_m: float
    elevation_m: float | None
    half_width_m: float
    half_height_m: float
    error_across_m: float
    error_up_m: float
    course_m: FloatArray | None

    @property
    def lowest_m(self) -> float | None:
        """Lowest elevation at which it may lie."""
        if self.course_m is not None:
            return float((self.course_m[:, 1] - self.course_m[:, 2]).min()) - self.half_height_m
        if self.elevation_m is None:
            return None
        return self.elevation_m - self.half_height_m - self.error_up_m


@dataclass(frozen=True, eq=False)
class ShownHole:
    """A test hole beside the bore; ``top_m`` is the elevation of the line that it found."""

    hole: TestHoleInput
    mark_ref: str
    station_m: float
    away_m: float
    ground_m: float
    top_m: float | None
    bottom_m: float


@dataclass(frozen=True)
class ShownPit:
    """A pit from the side; its bottom is None where its depth is not recorded."""

    end: str
    from_m: float
    to_m: float
    ground_m: float
    bottom_m: float | None


@dataclass(frozen=True, eq=False)
class ProfileFigures:
    """Everything on a profile.

    Attributes
    ----------
    ground_m, cover_m : (n, 2) float arrays
        The ground and, where the rig asks for one, the minimum cover under it; else None.
    hole_top_m, hole_bottom_m : (n, 2) float arrays
        Edges of the finished hole.
    hole_error_m : float
        How much higher or lower the hole may lie.
    drilled_lows_m : tuple of float
        Lowest elevations of what was drilled.
    """

    ground_m: FloatArray
    cover_m: FloatArray | None
    hole_top_m: FloatArray
    hole_bottom_m: FloatArray
    hole_error_m: float
    pits: list[ShownPit]
    holes: list[ShownHole]
    lines: list[ShownLine]
    drilled_lows_m: tuple[float, ...] = ()

    @property
    def stations_m(self) -> tuple[float, float]:
        """First and last station shown."""
        ends = [place for pit in self.pits for place in (pit.from_m, pit.to_m)]
        every = [0.0, float(self.hole_top_m[-1, 0]), *ends]
        return min(every), max(every)

    @property
    def elevations_m(self) -> tuple[float, float]:
        """Lowest and highest elevation of anything shown."""
        lows = [float(self.hole_bottom_m[:, 1].min()) - self.hole_error_m]
        lows += [one.lowest_m for one in self.lines if one.lowest_m is not None]
        lows += [*self.drilled_lows_m, *(one.bottom_m for one in self.holes)]
        lows += [one.bottom_m for one in self.pits if one.bottom_m is not None]
        highs = [float(self.ground_m[:, 1].max()), float(self.hole_top_m[:, 1].max())]
        return min(lows), max(highs)


def profile_figures(scene: Scene, crossings: list[FoundCrossing]) -> ProfileFigures:
    """What the profile of a bore shows.

    Parameters
    ----------
    scene : Scene
    crossings : list of FoundCrossing
        By station, as `conflicts.crossings.find_crossings` gives them.
    """
    pits = [_pit(scene, pit) for pit in scene.inputs.pits]
    ends = [place for pit in pits for place in (pit.from_m, pit.to_m)]
    ground = _ground(scene, min([0.0, *ends]), max([scene.path.length_m, *ends]))
    wanted_m = scene.inputs.rig.minimum_cover_m
    top, bottom = hole_edges(scene)
    return ProfileFigures(
        ground_m=ground,
        cover_m=None if wanted_m is None else ground - np.array([0.0, wanted_m]),
        hole_top_m=top,
        hole_bottom_m=bottom,
        hole_error_m=scene.inputs.job.bore_vertical_m,
        pits=pits,
        holes=_holes(scene),
        lines=[_line(scene, sequence, found) for sequence, found in enumerate(crossings)],
    )


def hole_edges(scene: Scene) -> tuple[FloatArray, FloatArray]:
    """Upper and lower edge of the finished hole, each a radius from its centre line, square to it."""
    own, heights = scene.path.stations_m, scene.path.points_m[:, 2]
    stations, radii = _sized(own, scene.inputs.hole)
    elevations = np.interp(stations, own, heights)
    slope = np.interp(stations, own, np.gradient(heights, own))
    away = radii / np.hypot(slope, 1.0)
    aside = np.column_stack([-slope * away, away])
    centre = np.column_stack([stations, elevations])
    return centre + aside, centre - aside


def _sized(own_m: FloatArray, hole: HoleSize) -> tuple[FloatArray, FloatArray]:
    """Stations of a bore with the hole's radius at each; twice where its size changes, with either."""
    edges = [float(own_m[0]), *np.clip(hole.edges_m, own_m[0], own_m[-1]), float(own_m[-1])]
    stations, radii = [], []
    for (low, high), diameter_m in zip(pairwise(edges), hole.diameters_m, strict=True):
        inside = np.concatenate([[low], own_m[(own_m > low) & (own_m < high)], [high]])
        stations.append(inside)
        radii.append(np.full(len(inside), 0.5 * diameter_m))
    return np.concatenate(stations), np.concatenate(radii)


def _ground(scene: Scene, first_m: float, last_m: float) -> FloatArray:
    own = scene.ground.stations_m
    stations = np.concatenate([[first_m], own[(own > first_m) & (own < last_m)], [last_m]])
    return np.column_stack([stations, scene.ground.at(stations)])


def _pit(scene: Scene, pit: PitInput) -> ShownPit:
    corners = shapely.get_coordinates(scene.polygon_m(pit.rings).exterior)
    plan = scene.plan_m
    if pit.end == "entry":
        at, ahead, start = plan[0], plan[1] - plan[0], 0.0
    else:
        at, ahead, start = plan[-1], plan[-1] - plan[-2], scene.path.length_m
    along = start + (corners - at) @ (ahead / np.linalg.norm(ahead))
    ground = float(scene.ground.at(start))
    bottom = None if pit.depth_m is None else ground - pit.depth_m
    return ShownPit(pit.end, float(along.min()), float(along.max()), ground, bottom)


def _holes(scene: Scene) -> list[ShownHole]:
    holes = [(hole, line.mark.ref) for line in scene.lines for hole in line.mark.holes]
    holes += [(hole, "") for hole in scene.inputs.stray_holes]
    places = scene.points_m(tuple(hole.position for hole, _ in holes))
    stations = project_on(places, scene.plan_m)
    away = np.asarray(shapely.distance(shapely.points(places), shapely.LineString(scene.plan_m)))
    shown = [
        _hole(scene, hole, mark_ref, float(station), float(distance))
        for (hole, mark_ref), station, distance in zip(holes, stations, away, strict=True)
        if distance <= SHOWN_HOLE_M
    ]
    return sorted(shown, key=lambda one: one.station_m)


def _hole(scene: Scene, hole: TestHoleInput, mark_ref: str, station_m: float, away_m: float) -> ShownHole:
    own = hole.ground_elevation_m
    ground = float(scene.ground.at(station_m)) if own is None else own
    top = None if hole.depth_to_top_m is None or not hole.found else ground - hole.depth_to_top_m
    depths = [depth for depth in (hole.depth_to_top_m, hole.dug_depth_m) if depth is not None]
    return ShownHole(hole, mark_ref, station_m, away_m, ground, top, ground - max(depths, default=0.0))


def _line(scene: Scene, sequence: int, found: FoundCrossing) -> ShownLine:
    clearance, size = found.clearance, found.line.line.size
    worst = clearance.worst
    course = None
    if clearance.kind == "alongside" and worst is not None:
        course = _course(scene, found.line, clearance.from_m, clearance.to_m)
    return ShownLine(
        found=found,
        sequence=sequence,
        station_m=clearance.station_m,
        elevation_m=clearance.meeting.line_elevation_m,
        half_width_m=size.plan_radius_m,
        half_height_m=0.5 * size.height_m,
        error_across_m=worst.line_horizontal_m if worst else 0.0,
        error_up_m=worst.line_vertical_m if worst else 0.0,
        course_m=course,
    )


def _course(scene: Scene, one: SceneLine, from_m: float, to_m: float) -> FloatArray:
    """Station, elevation and vertical uncertainty of a line at its points nearest in plan to the bore."""
    line, job = one.line, scene.inputs.job
    own = scene.path.stations_m
    steps = max(2, int(np.ceil((to_m - from_m) / COURSE_STEP_M)) + 1)
    stations = np.unique(
        np.concatenate([np.linspace(from_m, to_m, steps), own[(own > from_m) & (own < to_m)]])
    )
    # A step in height is two vertices at one place of the plan: one of them is enough to project on.
    keep = np.concatenate([[True], np.diff(line.along_m) > 0.0])
    plan = np.column_stack([np.interp(stations, own, scene.plan_m[:, axis]) for axis in range(2)])
    along = project_on(plan, line.points_m[keep, :2])
    errors = [
        line_errors(at, line.hole_along_m, line.hole_errors_m, job.reach_m, 0.0, job.slope_ratio)[1]
        for at in along
    ]
    return np.column_stack([stations, np.interp(along, line.along_m, line.points_m[:, 2]), errors])
