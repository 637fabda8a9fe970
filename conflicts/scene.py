"""The inputs of one bore laid out in its ground frame, ready for the engine."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from conflicts.engine.coverage import united_area
from conflicts.engine.frame import FloatArray, GroundFrame, frame_about
from conflicts.engine.line import BuriedLine, FoundHoles, buried_line, line_size, project_on
from conflicts.engine.path import BorePath, Ground, Rods, distinct_points, path_of_profile, path_of_rods
from conflicts.inputs import DEFAULT_OUTSIDE_M, BoreInputs, MarkInput, Position, TestHoleInput, TicketInput

# Ground points count for a bore within this plan distance of its alignment (job file, ground_point).
GROUND_POINT_REACH_M = 3.0


@dataclass(frozen=True, eq=False)
class SceneLine:
    """A mark near the bore as the engine's line, with the found test holes in the engine's order."""

    mark: MarkInput
    line: BuriedLine
    found: tuple[TestHoleInput, ...]
    found_positions_m: FloatArray


@dataclass(frozen=True, eq=False)
class Scene:
    """One bore among its lines, in metres of the ground frame about its alignment."""

    inputs: BoreInputs
    frame: GroundFrame
    alignment_m: FloatArray
    path: BorePath
    ground: Ground
    rods: Rods | None
    lines: tuple[SceneLine, ...]

    @cached_property
    def lines_beside(self) -> tuple[SceneLine, ...]:
        """Lines near what was drilled and not near the plan."""
        return tuple(
            _scene_line(mark, self.inputs, self.frame, self.path, self.ground)
            for mark in self.inputs.marks_beside
        )

    def among_all_lines(self) -> "Scene":
        """The same with the lines that are near the plan and those near what was drilled."""
        return replace(self, lines=(*self.lines, *self.lines_beside))

    @property
    def bore_radius_m(self) -> float:
        """Radius of the hole that counts along the plan, where it is widest."""
        return 0.5 * self.inputs.hole.widest_m

    @property
    def plan_m(self) -> FloatArray:
        """The bore in plan, as an (n, 2) array."""
        return self.path.points_m[:, :2]

    def points_m(self, positions: tuple[Position, ...]) -> FloatArray:
        """Positions in the frame, as an (n, 2) array."""
        lon_lat = np.array(positions, dtype=float).reshape(-1, 2)
        return self.frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])

    def polygon_m(self, rings: tuple[tuple[Position, ...], ...]) -> shapely.Polygon:
        """An outer ring and its holes as a polygon of the frame."""
        outer, *holes = [self.points_m(ring) for ring in rings]
        return shapely.Polygon(outer, holes)

    def area_m(self, tickets: list[TicketInput]) -> shapely.Geometry:
        """The united work areas of tickets."""
        return united_area([self.polygon_m(rings) for ticket in tickets for rings in ticket.polygons])


def lay_out(inputs: BoreInputs) -> Scene:
    """The scene of one bore.

    Parameters
    ----------
    inputs : BoreInputs

    Raises
    ------
    EngineError
        Records that no path or line can be built from.
    """
    frame = frame_about([inputs.alignment], inputs.job.mean_height_m)
    lon_lat = np.array(inputs.alignment)
    alignment = distinct_points(frame.to_ground(lon_lat[:, 0], lon_lat[:, 1]))
    ground = _ground(inputs, frame, alignment)
    rods = None
    if inputs.rods is None:
        stations, values = np.array(inputs.profile).T
        elevations = ground.at(stations) - values if inputs.profile_by == "depth" else values
        path = path_of_profile(alignment, stations, elevations)
    else:
        rods = Rods(
            inputs.rods.entry_elevation_m,
            np.array(inputs.rods.lengths_m),
            np.array(inputs.rods.pitches_ratio),
            np.array([np.nan if one is None else one for one in inputs.rods.headings_rad]),
        )
        path = path_of_rods(alignment, rods)
    lines = tuple(_scene_line(mark, inputs, frame, path, ground) for mark in inputs.marks)
    return Scene(inputs, frame, alignment, path, ground, rods, lines)


def _ground(inputs: BoreInputs, frame: GroundFrame, alignment: FloatArray) -> Ground:
    """The bore's own ground, else that of the points beside it, else flat at 0."""
    if inputs.ground:
        stations, elevations = np.array(inputs.ground).T
        return Ground(stations, elevations)
    if not inputs.ground_points:
        return Ground(np.empty(0), np.empty(0))
    points = np.array(inputs.ground_points)
    plan = frame.to_ground(points[:, 0], points[:, 1])
    along = project_on(plan, alignment)
    beside = shapely.distance(shapely.points(plan), shapely.LineString(alignment)) <= GROUND_POINT_REACH_M
    stations, first = np.unique(along[beside], return_index=True)
    return Ground(stations, points[beside, 2][first])


def _scene_line(
    mark: MarkInput, inputs: BoreInputs, frame: GroundFrame, path: BorePath, ground: Ground
) -> SceneLine:
    job = inputs.job
    found = tuple(hole for hole in mark.holes if hole.found)
    lon_lat = np.array([hole.position for hole in found], dtype=float).reshape(-1, 2)
    positions = frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])
    own_ground = np.array(
        [np.nan if hole.ground_elevation_m is None else hole.ground_elevation_m for hole in found]
    )
    at_bore = ground.at(project_on(positions, path.points_m[:, :2]))
    surface = np.where(np.isnan(own_ground), at_bore, own_ground)
    depths = np.array([np.nan if hole.depth_to_top_m is None else hole.depth_to_top_m for hole in found])
    holes = FoundHoles(
        positions,
        surface - depths,
        np.array([job.test_hole_m if hole.error_m is None else hole.error_m for hole in found]),
    )
    size = line_size(
        measured=[(hole.outside_width_m, hole.outside_height_m) for hole in found],
        stated_width_m=mark.stated_width_m,
        stated_height_m=mark.stated_height_m,
        default_m=job.default_outside_m.get(mark.facility_type, DEFAULT_OUTSIDE_M[mark.facility_type]),
    )
    painted = np.array(mark.points, dtype=float).reshape(-1, 2)
    line = buried_line(frame.to_ground(painted[:, 0], painted[:, 1]), holes, size, job.reach_m)
    return SceneLine(mark, line, found, positions)
